# Catch2 2.13 (Debian 12) or 3 as installed, else a pinned copy of the sources.
find_package(Catch2 2.13 CONFIG QUIET)
if(NOT TARGET Catch2::Catch2WithMain)
    find_package(Catch2 3 CONFIG QUIET)
endif()
if(NOT TARGET Catch2::Catch2WithMain)
    include(FetchContent)
    FetchContent_Declare(Catch2 GIT_REPOSITORY https://github.com/catchorg/Catch2.git
                                GIT_TAG v3.5.4 GIT_SHALLOW ON)
    FetchContent_MakeAvailable(Catch2)
endif()

file(GLOB test_sources CONFIGURE_DEPENDS tests/cpp/test_*.cpp)
add_executable(evenfront_tests ${test_sources})
target_link_libraries(evenfront_tests PRIVATE evenfront::core evenfront_options
                                              Catch2::Catch2WithMain)
target_precompile_headers(evenfront_tests PRIVATE <Eigen/Core> tests/cpp/support.hpp)
add_test(NAME core COMMAND evenfront_tests)

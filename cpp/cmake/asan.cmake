# Initial cache: cmake -S . -B build/asan -C cpp/cmake/asan.cmake
# -O1: checks and Eigen's small functions together are too slow without it.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(CMAKE_CXX_FLAGS_DEBUG "-g1 -O1" CACHE STRING "")
set(EVENFRONT_BUILD_TESTS ON CACHE BOOL "")
set(EVENFRONT_WARNINGS_AS_ERRORS ON CACHE BOOL "")
set(EVENFRONT_SANITIZE "address,undefined" CACHE STRING "")

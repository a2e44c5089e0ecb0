# Eigen3::Eigen and Boost::headers: an installed package, or else the header packages which
# pyproject.toml names as build requirements, found through the Python that runs the build.
# Boost's own config is asked first and alone: CMake's own FindBoost module is on its way out.
find_package(Eigen3 3.4 CONFIG QUIET)
find_package(Boost 1.74 CONFIG QUIET)

if(NOT TARGET Eigen3::Eigen OR NOT TARGET Boost::headers)
    find_package(Python 3.11 REQUIRED COMPONENTS Interpreter)
endif()

function(evenfront_header_folder result package folder probe)
    execute_process(
        COMMAND ${Python_EXECUTABLE} -c
                "import importlib.util as u, pathlib as p; print(p.Path(u.find_spec('${package}').origin).parent.joinpath('${folder}').resolve().as_posix())"
        OUTPUT_VARIABLE path OUTPUT_STRIP_TRAILING_WHITESPACE ERROR_QUIET)
    if(NOT EXISTS "${path}/${probe}")
        message(FATAL_ERROR "${probe} not found: install the development package of the library, "
                            "or the header packages pyproject.toml names, for ${Python_EXECUTABLE}")
    endif()
    message(STATUS "${probe}: ${path}")
    set(${result} ${path} PARENT_SCOPE)
endfunction()

if(NOT TARGET Eigen3::Eigen)
    evenfront_header_folder(eigen cmeel_pth cmeel.prefix/include/eigen3 Eigen/Dense)
    add_library(Eigen3::Eigen INTERFACE IMPORTED)
    target_include_directories(Eigen3::Eigen INTERFACE ${eigen})
endif()
if(NOT TARGET Boost::headers)
    evenfront_header_folder(boost boost_headers include boost/math/tools/toms748_solve.hpp)
    add_library(Boost::headers INTERFACE IMPORTED)
    target_include_directories(Boost::headers INTERFACE ${boost})
endif()

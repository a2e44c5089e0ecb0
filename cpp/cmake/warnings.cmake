# -fno-math-errno and -fno-trapping-math drop side effects of math functions, not digits: the same
# binary gives the same bits on every run. No -ffast-math, no -march=native.
target_compile_options(
    evenfront_options
    INTERFACE $<$<CXX_COMPILER_ID:GNU,Clang,AppleClang>:-Wall -Wextra -Wpedantic -Wshadow
              -Wconversion -Wdouble-promotion -Wold-style-cast -Wnon-virtual-dtor -fno-math-errno
              -fno-trapping-math>
              $<$<CXX_COMPILER_ID:MSVC>:/W4>)
if(EVENFRONT_WARNINGS_AS_ERRORS)
    target_compile_options(
        evenfront_options INTERFACE $<IF:$<CXX_COMPILER_ID:MSVC>,/WX,-Werror>)
endif()

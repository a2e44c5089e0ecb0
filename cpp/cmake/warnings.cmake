target_compile_options(
    evenfront_options
    INTERFACE $<$<CXX_COMPILER_ID:GNU,Clang,AppleClang>:-Wall -Wextra -Wpedantic -Wshadow
              -Wconversion -Wdouble-promotion -Wold-style-cast -Wnon-virtual-dtor>
              $<$<CXX_COMPILER_ID:MSVC>:/W4>)
if(EVENFRONT_WARNINGS_AS_ERRORS)
    target_compile_options(
        evenfront_options INTERFACE $<IF:$<CXX_COMPILER_ID:MSVC>,/WX,-Werror>)
endif()

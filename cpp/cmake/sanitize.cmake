# Without what `address` finds as well, or what takes a cast to happen: a third of the build's time.
if(EVENFRONT_SANITIZE)
    target_compile_options(evenfront_options INTERFACE -fsanitize=${EVENFRONT_SANITIZE}
                                                       -fno-sanitize=null,alignment,object-size,vptr
                                                       -fno-sanitize-recover=all
                                                       -fno-omit-frame-pointer)
    target_link_options(evenfront_options INTERFACE -fsanitize=${EVENFRONT_SANITIZE})
endif()

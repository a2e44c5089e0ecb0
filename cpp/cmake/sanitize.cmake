if(EVENFRONT_SANITIZE)
    target_compile_options(evenfront_options INTERFACE -fsanitize=${EVENFRONT_SANITIZE}
                                                       -fno-sanitize-recover=all
                                                       -fno-omit-frame-pointer)
    target_link_options(evenfront_options INTERFACE -fsanitize=${EVENFRONT_SANITIZE})
endif()

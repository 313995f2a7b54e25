# The pictures that README.md shows: a test that they are still what is drawn, and the target that
# draws them again. The same machine gives the same pixels, so they are not looked at under the
# sanitizers.
list(GET MARLING_BELOW 0 top)
add_executable(draw_pictures ${CMAKE_CURRENT_SOURCE_DIR}/extra/pictures.c)
target_link_libraries(draw_pictures PRIVATE ${top})
target_compile_options(draw_pictures PRIVATE -Wno-missing-prototypes)
set(scratch ${CMAKE_BINARY_DIR}/pictures)
add_test(NAME pictures COMMAND draw_pictures compare ${CMAKE_SOURCE_DIR} ${scratch})
set_tests_properties(pictures PROPERTIES LABELS tree TIMEOUT 120)
add_custom_target(pictures COMMAND draw_pictures write ${CMAKE_SOURCE_DIR} ${scratch}
    DEPENDS draw_pictures USES_TERMINAL VERBATIM)

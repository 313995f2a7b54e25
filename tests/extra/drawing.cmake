# One drawing with everything on it, in every format, read back with other people's programs.
list(GET MARLING_BELOW 0 top)
add_executable(draw_everything ${CMAKE_CURRENT_SOURCE_DIR}/extra/draw_everything.c)
target_link_libraries(draw_everything PRIVATE ${top})
target_compile_options(draw_everything PRIVATE -Wno-missing-prototypes)
find_program(PYTHON3 python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
add_test(NAME outside_drawing
    COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/outside/read_drawing.py
        $<TARGET_FILE:draw_everything>)
add_test(NAME outside_sheets
    COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/outside/read_sheets.py
        $<TARGET_FILE:draw_everything>)
set_tests_properties(outside_drawing outside_sheets PROPERTIES LABELS outside TIMEOUT 300)

# Boards measured with other people's programs: what a DXF says, and the geometry library.
list(GET MARLING_BELOW 0 top)
add_executable(random_boards ${CMAKE_CURRENT_SOURCE_DIR}/extra/random_boards.c)
target_link_libraries(random_boards PRIVATE ${top})
target_compile_options(random_boards PRIVATE -Wno-unused-function)
find_program(PYTHON3 python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
if(TARGET marling)
    add_test(NAME outside_boards
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/outside/read_boards.py
            $<TARGET_FILE:marling> $<TARGET_FILE:random_boards>)
    # And their printed pages, put together by their register marks.
    add_test(NAME outside_tiles
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/outside/read_tiles.py
            $<TARGET_FILE:marling>)
    set_tests_properties(outside_boards outside_tiles PROPERTIES LABELS outside TIMEOUT 600)
endif()

# The page of outside checks and the tests agree. Looks at the tree alone.
find_program(PYTHON3 python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
add_test(NAME outside_page COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/outside_page.py)
set_tests_properties(outside_page PROPERTIES LABELS "tool;tree" TIMEOUT 60)

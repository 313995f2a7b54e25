# The test tools and the checks of the source tree, tested themselves. They don't depend on how the
# program was built, so once is enough: label `tree` keeps them out of the sanitizer runs.
find_program(PYTHON3 python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
add_test(NAME tool_tests COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_tool.py)
add_test(NAME tool_limits COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_limits.py)
add_test(NAME tool_layers COMMAND ${CMAKE_SOURCE_DIR}/tools/check-layers --self-test)
add_test(NAME tool_words COMMAND ${CMAKE_SOURCE_DIR}/tools/check-words --self-test)
add_test(NAME tool_rules_page COMMAND ${CMAKE_SOURCE_DIR}/tools/write-rules --check)
set_tests_properties(tool_tests tool_limits tool_layers tool_words tool_rules_page
    PROPERTIES LABELS "tool;tree" TIMEOUT 60)
if(TARGET marling)
    add_test(NAME tool_readme
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_readme.py $<TARGET_FILE:marling>)
    set_tests_properties(tool_readme PROPERTIES LABELS "tool;tree" TIMEOUT 60)
    add_test(NAME tool_shop
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_shop.py $<TARGET_FILE:marling>)
    set_tests_properties(tool_shop PROPERTIES LABELS tool TIMEOUT 300)
endif()

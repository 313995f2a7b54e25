# The desk killed in the middle of its work. MARLING_KILLS=300 ctest -R desk_kills for the long run.
if(TARGET marling)
    add_test(NAME desk_kills
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_desk_kills.py $<TARGET_FILE:marling>)
    set_tests_properties(desk_kills PROPERTIES LABELS tool)
endif()

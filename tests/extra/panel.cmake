# Cut files of a panel, read back and measured with other people's programs.
if(TARGET marling)
    find_program(PYTHON3 python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
    add_test(NAME outside_panel_cut
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/outside/read_panel_cut.py
            $<TARGET_FILE:marling>)
    # What is seen of it: hash, differences, pictures.
    add_test(NAME outside_panel_seen
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/outside/read_panel_seen.py
            $<TARGET_FILE:marling>)
    set_tests_properties(outside_panel_cut outside_panel_seen PROPERTIES LABELS outside TIMEOUT 300)
endif()

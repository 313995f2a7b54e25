# Golden cases: one test a folder, a test that every rule has its cases, and the target that keeps
# what the program prints now. They need the program, so they come with it.
if(TARGET marling)
    find_program(PYTHON3 python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
    set(golden ${CMAKE_SOURCE_DIR}/tests/golden)
    file(GLOB commands CONFIGURE_DEPENDS ${golden}/*/command)
    foreach(command ${commands})
        get_filename_component(case ${command} DIRECTORY)
        get_filename_component(name ${case} NAME)
        add_test(NAME golden_${name}
            COMMAND ${PYTHON3} ${golden}/run.py --marling $<TARGET_FILE:marling> ${case})
        set_tests_properties(golden_${name} PROPERTIES LABELS golden TIMEOUT 120)
    endforeach()
    add_custom_target(bless
        COMMAND ${PYTHON3} ${golden}/run.py --marling $<TARGET_FILE:marling> --bless
        DEPENDS marling USES_TERMINAL VERBATIM)

    # Looks at the tree alone, so once is enough: not under the sanitizers.
    add_test(NAME golden_rules COMMAND ${PYTHON3} ${golden}/rules.py)
    set_tests_properties(golden_rules PROPERTIES LABELS "golden;tree")

    file(GLOB scripts CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/tests/bad_input/test_*.py)
    foreach(script ${scripts})
        get_filename_component(name ${script} NAME_WE)
        add_test(NAME bad_input_${name}
            COMMAND ${PYTHON3} ${script} $<TARGET_FILE:marling>)
        set_tests_properties(bad_input_${name} PROPERTIES LABELS bad_input TIMEOUT 300)
    endforeach()
endif()

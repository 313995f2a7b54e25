# What views, tables and failures rest on, asked over the network.
if(TARGET marling)
    add_test(NAME views_network
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_views.py $<TARGET_FILE:marling>)
    set_tests_properties(views_network PROPERTIES LABELS desk TIMEOUT 300)
endif()

# The aircraft in views, fail it, tables: used in a browser. What drives it comes from desk.cmake.
if(TARGET marling)
    set(web_tests ${CMAKE_BINARY_DIR}/web_tests)
    add_custom_command(OUTPUT ${web_tests}/aircraft.mjs
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/aircraft.mjs ${web_tests}
        DEPENDS web/aircraft.mjs)
    add_custom_command(OUTPUT ${web_tests}/tables.mjs
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/tables.mjs ${web_tests}
        DEPENDS web/tables.mjs)
    add_custom_target(views_tests ALL DEPENDS ${web_tests}/aircraft.mjs ${web_tests}/tables.mjs)
    add_dependencies(views_tests web_tests)
    add_test(NAME aircraft_browser
        COMMAND ${NODE} aircraft.mjs $<TARGET_FILE:marling> ${CMAKE_SOURCE_DIR}/examples ${CHROMIUM}
            ${web_tests}/pictures
        WORKING_DIRECTORY ${web_tests})
    add_test(NAME tables_browser
        COMMAND ${NODE} tables.mjs $<TARGET_FILE:marling> ${CMAKE_SOURCE_DIR}/examples ${CHROMIUM}
            ${web_tests}/pictures
        WORKING_DIRECTORY ${web_tests})
    add_test(NAME views_network
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_views.py $<TARGET_FILE:marling>)
    set_tests_properties(views_network PROPERTIES LABELS desk TIMEOUT 300)
    set_tests_properties(aircraft_browser tables_browser PROPERTIES LABELS "desk;tree" TIMEOUT 300)
endif()

# The desk: asked over the network, and used in a browser.
if(TARGET marling)
    find_program(PYTHON3 python3 PATHS /usr/bin NO_DEFAULT_PATH REQUIRED)
    find_program(CHROMIUM chromium REQUIRED)
    add_test(NAME desk_network
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_desk.py $<TARGET_FILE:marling>)
    set(web_tests ${CMAKE_BINARY_DIR}/web_tests)
    file(MAKE_DIRECTORY ${web_tests}/pictures)
    add_custom_command(OUTPUT ${web_tests}/node_modules/.package-lock.json
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/package.json
            ${CMAKE_SOURCE_DIR}/tests/web/package-lock.json ${CMAKE_SOURCE_DIR}/tests/web/.npmrc
            ${web_tests}
        COMMAND ${NPM} ci --silent
        WORKING_DIRECTORY ${web_tests}
        DEPENDS web/package.json web/package-lock.json
        COMMENT "fetching what drives the browser")
    add_custom_command(OUTPUT ${web_tests}/desk.mjs
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/desk.mjs ${web_tests}
        DEPENDS web/desk.mjs ${web_tests}/node_modules/.package-lock.json)
    add_custom_command(OUTPUT ${web_tests}/door.mjs
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/door.mjs ${web_tests}
        DEPENDS web/door.mjs ${web_tests}/node_modules/.package-lock.json)
    add_custom_command(OUTPUT ${web_tests}/panel.mjs
        COMMAND ${CMAKE_COMMAND} -E copy ${CMAKE_SOURCE_DIR}/tests/web/panel.mjs ${web_tests}
        DEPENDS web/panel.mjs ${web_tests}/node_modules/.package-lock.json)
    add_custom_target(web_tests ALL DEPENDS ${web_tests}/desk.mjs ${web_tests}/door.mjs
        ${web_tests}/panel.mjs)
    add_test(NAME desk_browser
        COMMAND ${NODE} desk.mjs $<TARGET_FILE:marling> ${CMAKE_SOURCE_DIR}/examples ${CHROMIUM}
            ${web_tests}/pictures
        WORKING_DIRECTORY ${web_tests})
    add_test(NAME door_browser
        COMMAND ${NODE} door.mjs $<TARGET_FILE:marling> ${CMAKE_SOURCE_DIR}/examples ${CHROMIUM}
            ${web_tests}/pictures
        WORKING_DIRECTORY ${web_tests})
    add_test(NAME panel_browser
        COMMAND ${NODE} panel.mjs $<TARGET_FILE:marling> ${CMAKE_SOURCE_DIR}/examples ${CHROMIUM}
            ${web_tests}/pictures
        WORKING_DIRECTORY ${web_tests})
    set_tests_properties(panel_browser PROPERTIES LABELS "desk;tree" TIMEOUT 300)
    set_tests_properties(door_browser PROPERTIES LABELS "desk;tree" TIMEOUT 300)
    # Strangers of every kind: beyond this machine, by TLS.
    add_test(NAME door_network
        COMMAND ${PYTHON3} ${CMAKE_SOURCE_DIR}/tests/tool/test_door.py $<TARGET_FILE:marling>)
    set_tests_properties(door_network PROPERTIES LABELS desk TIMEOUT 300)
    # The sanitizers have their turn with the network test.
    set_tests_properties(desk_network PROPERTIES LABELS desk TIMEOUT 300)
    set_tests_properties(desk_browser PROPERTIES LABELS "desk;tree" TIMEOUT 300)
endif()

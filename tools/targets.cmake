# Targets for daily work; HACKING.md says when to use which. None is part of `all`.
function(marling_target name comment)
    add_custom_target(${name} COMMAND ${ARGN} WORKING_DIRECTORY ${CMAKE_SOURCE_DIR}
        COMMENT ${comment} USES_TERMINAL VERBATIM)
endfunction()

marling_target(format "lay the sources out" tools/format)
marling_target(format-check "compare the layout of the sources" tools/format --check)
marling_target(layers "look for upward includes" tools/check-layers)
marling_target(words "look for words that belong to one machine" tools/check-words)
marling_target(lint "clang-tidy and cppcheck" tools/lint ${CMAKE_BINARY_DIR})

# The rank list is written once, in tools/layers.txt; what is built must be in that order.
file(STRINGS ${CMAKE_SOURCE_DIR}/tools/layers.txt ranks REGEX "^[a-z]")
list(REMOVE_ITEM ranks cli)
get_property(built GLOBAL PROPERTY MARLING_LAYERS)
if(NOT ranks STREQUAL built)
    message(FATAL_ERROR "layers built (${built}) differ from tools/layers.txt (${ranks})")
endif()

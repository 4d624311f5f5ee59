# Puts together in TO what a browser gets of FROM: for each page its parts, its style sheets as one
# and its script as one with the modules that it imports. So a page stands after three answers.
# cmake -DFROM=... -DTO=... -P assemble.cmake
cmake_minimum_required(VERSION 3.25)

# Appends to the property `script` the module NAME, after those that it imports, each once: as a
# function that is called at once, and whose result holds what the module exports.
function(add_module NAME)
    get_property(taken GLOBAL PROPERTY taken)
    if(NAME IN_LIST taken)
        return()
    endif()
    set_property(GLOBAL APPEND PROPERTY taken "${NAME}")
    file(READ "${FROM}/${NAME}.js" text)
    string(REGEX MATCHALL "from '/[a-z]+\\.js'" needs "${text}")
    foreach(need IN LISTS needs)
        string(REGEX REPLACE "^from '/([a-z]+)\\.js'$" "\\1" need "${need}")
        add_module(${need})
    endforeach()

    string(REGEX REPLACE "\n *//[^\n]*" "" text "\n${text}")
    while(text MATCHES "\nimport {[^}]* as ")
        string(REGEX REPLACE "(\nimport {[^}]*) as " "\\1: " text "${text}")
    endwhile()
    string(REGEX REPLACE "\nimport [*] as ([a-z]+) from '/([a-z]+)\\.js'" "\nconst \\1 = $\\2"
        text "${text}")
    string(REGEX REPLACE "\nimport ({[^}]*}) from '/([a-z]+)\\.js'" "\nconst \\1 = $\\2"
        text "${text}")
    string(REGEX MATCHALL "\nexport (async )?(function|class|const) [A-Za-z]+" exports "${text}")
    list(TRANSFORM exports REPLACE "^.* " "")
    list(JOIN exports ", " exports)
    string(REGEX REPLACE "\nexport ((async )?(function|class|const) )" "\n\\1" text "${text}")
    if(text MATCHES "\n((import|export)[^\n]*)")
        message(FATAL_ERROR "assemble.cmake: ${NAME}.js: cannot take '${CMAKE_MATCH_1}'; "
            "write import { a, b as c } or import * as a, export function, class or const")
    endif()
    set_property(GLOBAL APPEND_STRING PROPERTY script
        "const $${NAME} = (() => {${text}return { ${exports} };\n})();\n")
endfunction()

# Writes NAME.js with all that it needs.
function(write_script NAME)
    set_property(GLOBAL PROPERTY taken "")
    set_property(GLOBAL PROPERTY script "'use strict';\n")
    add_module(${NAME})
    get_property(script GLOBAL PROPERTY script)
    file(WRITE "${TO}/${NAME}.js" "${script}")
endfunction()

# The text of PAGE in `text`, with its parts in their places; a link to itself is marked as such.
function(read_page PAGE)
    file(READ "${PAGE}" text)
    get_filename_component(file "${PAGE}" NAME)
    string(REPLACE "index.html" "" file "${file}")
    while(text MATCHES "<!-- part: ([a-z]+) -->\n")
        set(mark "${CMAKE_MATCH_0}")
        file(READ "${FROM}/parts/${CMAKE_MATCH_1}.html" part)
        string(REPLACE "href=\"/${file}\"" "href=\"/${file}\" aria-current=\"page\"" part "${part}")
        string(REPLACE "${mark}" "${part}" text "${text}")
    endwhile()
    set(text "${text}" PARENT_SCOPE)
endfunction()

file(REMOVE_RECURSE "${TO}")
file(GLOB pages "${FROM}/*.html")
foreach(page IN LISTS pages)
    read_page("${page}")
    if(NOT text MATCHES "<script type=\"module\" src=\"/([a-z]+)\\.js\"></script>")
        message(FATAL_ERROR "assemble.cmake: ${page} has no script")
    endif()
    set(name "${CMAKE_MATCH_1}")
    write_script(${name})
    string(REPLACE "${CMAKE_MATCH_0}" "<script src=\"/${name}.js\" defer></script>" text "${text}")

    set(style "")
    string(REGEX MATCHALL "href=\"/[a-z]+\\.css\"" sheets "${text}")
    foreach(sheet IN LISTS sheets)
        string(REGEX REPLACE "^href=\"/(.*)\"$" "\\1" sheet "${sheet}")
        file(READ "${FROM}/${sheet}" rules)
        string(APPEND style "${rules}")
    endforeach()
    file(WRITE "${TO}/${name}.css" "${style}")
    string(REGEX REPLACE "(<link rel=\"stylesheet\" href=\"/[a-z]+\\.css\">\n)+"
        "<link rel=\"stylesheet\" href=\"/${name}.css\">\n" text "${text}")
    get_filename_component(file "${page}" NAME)
    file(WRITE "${TO}/${file}" "${text}")
endforeach()
file(GLOB others "${FROM}/*.svg" "${FROM}/*.webmanifest")
file(COPY ${others} DESTINATION "${TO}")

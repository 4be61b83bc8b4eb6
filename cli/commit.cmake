# Writes OUTPUT with the commit that SOURCE is checked out at, "" if it is not a checkout of its
# own, and leaves the file alone if nothing changed, so that nothing is compiled in vain.
set(commit "")
find_program(GIT git)
if(GIT AND EXISTS ${SOURCE}/.git)
  execute_process(COMMAND ${GIT} -C ${SOURCE} describe --always --abbrev=12 --match= --dirty=+changes
                  OUTPUT_VARIABLE commit OUTPUT_STRIP_TRAILING_WHITESPACE ERROR_QUIET)
endif()
set(text "#define LOWHISS_COMMIT \"${commit}\"\n")
set(present "")
if(EXISTS ${OUTPUT})
  file(READ ${OUTPUT} present)
endif()
if(NOT present STREQUAL text)
  file(WRITE ${OUTPUT} "${text}")
endif()

# Writes OUTPUT, a source with the bytes of FILES, known by their names.
set(text "#include \"lowhiss/text/library.hpp\"\n\nnamespace lowhiss {\nnamespace {\n")
set(rows)
set(number 0)
foreach(file ${FILES})
  get_filename_component(name ${file} NAME)
  file(READ ${file} bytes HEX)
  string(LENGTH "${bytes}" digits)
  math(EXPR count "${digits} / 2")
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "'\\\\x\\1'," bytes "${bytes}")
  string(REGEX REPLACE "(('[^']*',){16})" "\\1\n" bytes "${bytes}")
  string(APPEND text "\nconstexpr char file_${number}[] = {\n${bytes}};\n")
  string(APPEND rows "    {\"${name}\", {file_${number}, ${count}}},\n")
  math(EXPR number "${number} + 1")
endforeach()
string(APPEND text "\nconstexpr LibraryFile files[] = {\n${rows}};\n\n}  // namespace\n\n"
       "std::span<const LibraryFile> library_files() {\n    return files;\n}\n\n"
       "}  // namespace lowhiss\n")
file(WRITE ${OUTPUT} "${text}")

# A reference CSV as C: one ROW(...) a line, so that the program needs no data folder.
# A column that holds only numbers and blanks becomes numbers (a blank NAN), any other strings.
function fields(line, row,    column, inside, text, i, c)
{
    column = 1
    for (i = 1; i <= length(line); i++) {
        c = substr(line, i, 1)
        if (c == "\"" && inside && substr(line, i + 1, 1) == "\"") { text = text c; i++ }
        else if (c == "\"") inside = !inside
        else if (c == "," && !inside) { cell[row, column++] = text; text = "" }
        else text = text c
    }
    cell[row, column] = text
    return column
}
function quoted(text)
{
    gsub(/\\/, "\\\\", text)
    gsub(/"/, "\\\"", text)
    return "\"" text "\""
}
/^#/ || /^[ \t]*$/ { next }
!columns { columns = fields($0, 0); next }
{
    if (fields($0, ++rows) != columns) {
        print FILENAME ":" FNR ": not " columns " fields" > "/dev/stderr"
        failed = 1
        exit 1
    }
}
END {
    if (failed) exit 1
    for (column = 1; column <= columns; column++) {
        numbers = 0
        words = 0
        for (row = 1; row <= rows; row++) {
            if (cell[row, column] ~ /^-?[0-9]+(\.[0-9]*)?([eE][-+]?[0-9]+)?$/) numbers++
            else if (cell[row, column] != "") words++
        }
        numeric[column] = numbers && !words
    }
    for (row = 1; row <= rows; row++) {
        line = ""
        for (column = 1; column <= columns; column++) {
            text = cell[row, column]
            text = numeric[column] ? (text == "" ? "NAN" : text) : quoted(text)
            line = line (column > 1 ? ", " : "") text
        }
        print "ROW(" line ")"
    }
}

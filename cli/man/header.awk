# The public header as roff: its headings, its comments as paragraphs, its declarations as they are.
function roff(text)
{
    gsub(/\\/, "\\e", text)
    gsub(/-/, "\\-", text)
    return text ~ /^[.']/ ? "\\&" text : text
}
function paragraph()
{
    if (!fresh) print ".PP"
    fresh = 0
}
function end_code()
{
    if (code) print ".fi"
    code = 0
}
/^\/\* -+ .* \*\/$/ {
    end_code()
    sub(/^\/\* -+ /, "")
    sub(/ \*\/$/, "")
    print ".SS " roff($0)
    started = fresh = 1
    next
}
!started || /^#if|^#endif|^}$|^#ifdef|^extern/ { next }
/^$/ { end_code(); next }
/^\/\*/ { end_code(); paragraph(); comment = 1 }
comment {
    ends = /\*\/$/
    sub(/^\/?\*+ */, "")
    sub(/^ \* ?/, "")
    sub(/ *\*\/$/, "")
    if ($0 ~ /[^ ]/) print roff($0)
    if (ends) comment = 0
    next
}
!code { paragraph(); print ".nf"; code = 1 }
{ sub(/^BB_API /, ""); print roff($0) }
END { end_code() }

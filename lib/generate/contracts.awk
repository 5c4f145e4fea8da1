# include/brineband.h as Doxygen reads it: every comment is a contract. A heading begins a group, a
# comment at the end of a line speaks of what stands before it, and prototypes that follow each
# other, or values, without an empty line share the contract above them.

function repeat() { # the contract again, when the last one was spent on the prototype before
    if (spent && contract != "") printf "%s", contract
    spent = 1
}

/^\/\* -+ [^*]*\*\/$/ {
    title = $0
    gsub(/^\/\* -+ | \*\/$/, "", title)
    printf "%s/** @defgroup part%d %s\n * @{ */\n", group ? "/** @} */ " : "", ++group, title
    next
}
NR == 1 { sub(/\/\*/, "/** @file\n *") }
/^\/\*/ {
    sub(/^\/\*\**/, "/**")
    contract = ""
    spent = 0
    reading = 1
}
reading {
    contract = contract $0 "\n"
    if (/\*\//) reading = 0
    print
    next
}
/^$/ { contract = "" }
/^BB_API/ || /^#define/ { repeat() }
/^typedef .*;$/ { spent = 1 }
/^#ifdef __cplusplus/ && group { print "/** @} */" }
/[^ ].*\/\* / { sub(/\/\* /, "/**< ") }
/^ +\/\* / { sub(/\/\* /, "/** ") }
{ print }

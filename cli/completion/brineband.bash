# Completion of brineband for bash. What follows comes from the commands' own tables.
@TABLE@
_brineband() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
    local command=${COMP_WORDS[1]} line value=
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ] || { [ "$COMP_CWORD" -eq 2 ] && [ "$command" = help ]; }; then
        mapfile -t COMPREPLY < <(compgen -W "$(_brineband_commands | cut -d'|' -f1)" -- "$word"
            [ "$COMP_CWORD" -ne 1 ] || compgen -d -- "$word")
        return
    fi
    while IFS='|' read -r line value _; do
        [ "$line" != "$before" ] || break
        value=
    done < <(_brineband_options "$command")
    case $value in
    '' | *[Ff]*.* | FILE | *.json) ;;
    *) return ;; # a value that only the user knows
    esac
    if [ -z "$value" ] && [ "${word:0:1}" = - ]; then
        mapfile -t COMPREPLY < <(compgen -W "$(_brineband_options "$command" | cut -d'|' -f1)" -- "$word")
    else
        compopt -o filenames 2>/dev/null
        mapfile -t COMPREPLY < <(compgen -f -- "$word")
    fi
}
complete -F _brineband brineband

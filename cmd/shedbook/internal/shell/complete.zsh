#compdef shedbook
# Completes the words of shedbook in zsh. Made by: shedbook completion zsh
_shedbook() {
    local -a before plain plainly open openly
    local line word what program=${~${(Q)words[1]}}
    if (( CURRENT > 2 )); then
        before=("${(@Q)words[2,CURRENT-1]}")
    fi
    for line in "${(@f)$("$program" __complete "${before[@]}" "=${(Q)PREFIX}" 2>/dev/null)}"; do
        word=${line%%$'\t'*}
        what=${line#*$'\t'}
        case $word in
            ('') ;;
            (:files) _files ;;
            (:folders) _files -/ ;;
            (*[/=])
                open+=("$word")
                openly+=("$word${what:+  -- $what}") ;;
            (*)
                plain+=("$word")
                plainly+=("$word${what:+  -- $what}") ;;
        esac
    done
    (( $#plain )) && compadd -M 'm:{a-zA-Z}={A-Za-z}' -l -d plainly -a plain
    (( $#open )) && compadd -M 'm:{a-zA-Z}={A-Za-z}' -S '' -l -d openly -a open
    return 0
}
if [[ $funcstack[1] == _shedbook ]]; then
    _shedbook "$@"
else
    compdef _shedbook shedbook
fi

# Completes the words of shedbook in bash. Made by: shedbook completion bash
_shedbook() {
    local line=${COMP_LINE:0:COMP_POINT} word='' quote='' begun=0 c i
    local -a words=()
    for ((i = 0; i < ${#line}; i++)); do
        c=${line:i:1}
        if [[ -n $quote ]]; then
            if [[ $c == "$quote" ]]; then
                quote=''
            elif [[ $quote == '"' && $c == "\\" ]]; then
                ((++i))
                word+=${line:i:1}
            else
                word+=$c
            fi
        elif [[ $c == '"' || $c == "'" ]]; then
            quote=$c begun=1
        elif [[ $c == "\\" ]]; then
            ((++i))
            word+=${line:i:1} begun=1
        elif [[ $c == [[:space:]] ]]; then
            ((begun)) && words+=("$word")
            word='' begun=0
        else
            word+=$c begun=1
        fi
    done
    # bash takes what follows "=" or ":" for a word of its own and puts in only that
    local lead=''
    if [[ -z $quote && $word == *[=:]* ]]; then
        lead=${word%"${word##*[=:]}"}
    fi
    local program=${words[0]/#\~\//$HOME/} item
    COMPREPLY=()
    while IFS=$'\t' read -r item _; do
        case $item in
        :files) while IFS= read -r item; do COMPREPLY+=("$item"); done < <(compgen -f -- "${word#"$lead"}") ;;
        :folders) while IFS= read -r item; do COMPREPLY+=("$item"); done < <(compgen -d -- "${word#"$lead"}") ;;
        *)
            item=${item:${#lead}}
            if [[ -z $quote && $item == *[^A-Za-z0-9_./,=:@%+-]* ]]; then
                printf -v item '%q' "$item"
            fi
            COMPREPLY+=("$item")
            continue
            ;;
        esac
        type compopt &>/dev/null && compopt -o filenames
    done < <("$program" __complete "${words[@]:1}" "=$word" 2>/dev/null)
    if [[ ${#COMPREPLY[@]} -eq 1 && ${COMPREPLY[0]} == *[/=] ]]; then
        type compopt &>/dev/null && compopt -o nospace
    fi
}
complete -F _shedbook shedbook

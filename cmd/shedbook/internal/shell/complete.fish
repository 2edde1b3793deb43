# Completes the words of shedbook in fish. Made by: shedbook completion fish
function __shedbook_complete
    set -l before (commandline -opc)
    set -l program $before[1]
    set -e before[1]
    set -l current (commandline -ct | string replace -r '^["\']' '' | string replace -ra '\\\\(.)' '$1')
    for line in ($program __complete $before "=$current" 2>/dev/null)
        switch $line
            case ':files*'
                __fish_complete_path "$current"
            case ':folders*'
                __fish_complete_directories "$current"
            case '*'
                printf '%s\n' $line
        end
    end
end
complete -c shedbook -f -a '(__shedbook_complete)'

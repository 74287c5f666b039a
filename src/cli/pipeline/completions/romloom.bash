# romloom for bash: the command itself knows what may stand where.
_romloom() {
    local words=() reply=() i word line cut= files=
    # bash takes words apart at = and :, romloom does not.
    for ((i = 1; i <= COMP_CWORD; i++)); do
        word=${COMP_WORDS[i]}
        if ((i > 1)) && [[ $word == [=:]* || ${COMP_WORDS[i - 1]} == *[=:] ]]; then
            words[${#words[@]} - 1]+=$word
        else
            words+=("$word")
        fi
    done
    # Quotes and escapes are the shell's, not the command's.
    words=("${words[@]//[\\\"\']/}")
    word=${words[${#words[@]} - 1]}
    # Of a word that was taken apart only the last part is replaced.
    [[ $word == *[=:]* ]] && cut=${word%"${word##*[=:]}"}
    while IFS=$'\t' read -r line _; do
        reply+=("${line#"$cut"}")
        [[ -e $line ]] && files=1
    done < <(romloom --candidates "${words[@]}" 2>/dev/null)
    if [[ $files ]]; then
        # bash quotes names of files, and nothing else.
        compopt -o filenames 2>/dev/null
    else
        for i in "${!reply[@]}"; do
            [[ ${reply[i]} == *[!A-Za-z0-9_./:=,+@%-]* ]] && printf -v "reply[$i]" %q "${reply[i]}"
        done
    fi
    [[ ${#reply[@]} == 1 && ${reply[0]} == *[=/:] ]] && compopt -o nospace 2>/dev/null
    COMPREPLY=("${reply[@]}")
}
complete -F _romloom romloom

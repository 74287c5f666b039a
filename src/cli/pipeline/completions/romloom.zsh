#compdef romloom
# romloom for zsh: the command itself knows what may stand where.
_romloom() {
    local line word
    local -a lines replies shown open
    lines=("${(@f)$(romloom --candidates "${(@Q)words[2,CURRENT]}" 2>/dev/null)}")
    for line in "${lines[@]}"; do
        word=${line%%$'\t'*}
        [[ -n $word ]] || continue
        if [[ $word == *[/=] ]]; then
            open+=("$word")
        else
            replies+=("$word")
            shown+=("${(r:20:)word} ${line#*$'\t'}")
        fi
    done
    # The candidates fit already, in upper and lower case, so nothing more is matched.
    (( ${#replies} )) && compadd -U -l -d shown -a replies
    (( ${#open} )) && compadd -U -S '' -a open
    (( ${#replies} + ${#open} ))
}
# Read by `source`, or found by its name in a folder of `fpath`.
if [[ $funcstack[1] == _romloom ]]; then
    _romloom "$@"
else
    compdef _romloom romloom
fi

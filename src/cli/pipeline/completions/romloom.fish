# romloom for fish: the command itself knows what may stand where.
complete -c romloom -f -a '(romloom --candidates (commandline -opc)[2..] (commandline -ct) 2>/dev/null)'

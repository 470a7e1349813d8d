# Completion of thawbell for bash; generated, see tests/rules.
_thawbell()
{
    local current=${COMP_WORDS[COMP_CWORD]}
    local previous=${COMP_WORDS[COMP_CWORD - 1]}
    local command='' commands='' options='' word
    COMPREPLY=()
    commands='week why note syrup check decode replay fit bar store try'
    options=' -c --config -o --operation --at --json --units --lang -q --quiet -v --verbose --version -h --help'
    case $previous in
    -c | --config)
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
        ;;
    -o | --operation)
        return
        ;;
    --at)
        return
        ;;
    --units)
        mapfile -t COMPREPLY < <(compgen -W 'us metric' -- "$current")
        return
        ;;
    --lang)
        mapfile -t COMPREPLY < <(compgen -W 'en fr' -- "$current")
        return
        ;;
    --remark)
        return
        ;;
    --pressure)
        return
        ;;
    --cup-temp)
        return
        ;;
    --sap)
        return
        ;;
    --brix)
        return
        ;;
    --explain)
        return
        ;;
    --weather)
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
        ;;
    --sap)
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
        ;;
    --taps)
        return
        ;;
    --species)
        return
        ;;
    --gathering)
        return
        ;;
    --bucket)
        return
        ;;
    --tapped)
        return
        ;;
    --collected-at)
        return
        ;;
    --latitude)
        return
        ;;
    --longitude)
        return
        ;;
    --elevation)
        return
        ;;
    --utc-offset)
        return
        ;;
    --svg)
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
        ;;
    --models)
        return
        ;;
    --forecasts)
        return
        ;;
    --weather)
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
        ;;
    --sap)
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
        ;;
    --taps)
        return
        ;;
    --species)
        return
        ;;
    --gathering)
        return
        ;;
    --bucket)
        return
        ;;
    --tapped)
        return
        ;;
    --collected-at)
        return
        ;;
    --latitude)
        return
        ;;
    --longitude)
        return
        ;;
    --elevation)
        return
        ;;
    --utc-offset)
        return
        ;;
    --bush)
        return
        ;;
    --into)
        return
        ;;
    --from)
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        return
        ;;
    esac
    for word in "${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
        [[ " $commands " == *" $word "* ]] && command=$word
    done
    case $command in
    '') options+=" $commands" ;;
    week)
        options+=''
        ;;
    why)
        options+=''
        ;;
    note)
        options+=' --remark --all'
        ;;
    syrup)
        options+=' --pressure --sea-level --altimeter --cup-temp --sap --brix'
        ;;
    check)
        options+=' --keys --explain --example'
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        ;;
    decode)
        options+=''
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        ;;
    replay)
        options+=' --weather --sap --taps --species --gathering --bucket --tapped --collected-at --latitude --longitude --elevation --utc-offset --svg --models --plan --forecasts'
        ;;
    fit)
        options+=' --weather --sap --taps --species --gathering --bucket --tapped --collected-at --latitude --longitude --elevation --utc-offset --bush --into --replace'
        ;;
    bar)
        options+=''
        ;;
    store)
        options+=' --from'
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
        ;;
    try)
        options+=''
        ;;
    esac
    mapfile -t -O "${#COMPREPLY[@]}" COMPREPLY < <(
        compgen -W "$options" -- "$current")
}
complete -o filenames -F _thawbell thawbell

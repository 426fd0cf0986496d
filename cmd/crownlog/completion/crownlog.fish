# crownlog completion fish > ~/.config/fish/completions/crownlog.fish
function __crownlog_offer
  set -l words (commandline -opc) (commandline -ct)
  set -l offers ($words[1] offer -- $words[2..-1] 2>/dev/null)
  if test -n "$offers"
    printf '%s\n' $offers
  else
    __fish_complete_path $words[-1]
  end
end
complete -c crownlog -f -a '(__crownlog_offer)'

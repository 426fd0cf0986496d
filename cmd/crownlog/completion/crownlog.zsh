# A line in ~/.zshrc, after compinit where that is called: source <(crownlog completion zsh)
_crownlog() {
  local offers=$("$words[1]" offer -- "${(@)words[2,CURRENT]}" 2>/dev/null)
  compadd -- ${${(f)offers}%%$'\t'*} || _files
}
if (( ! $+functions[compdef] )); then
  autoload -Uz compinit && compinit -i
fi
compdef _crownlog crownlog

# crownlog completion bash > ~/.local/share/bash-completion/completions/crownlog
# For bash 3.2 and later. Where no word fits, bash itself offers paths.
_crownlog() {
  local word
  COMPREPLY=()
  while IFS= read -r word; do
    COMPREPLY+=("${word%%$'\t'*}")
  done < <("${COMP_WORDS[0]}" offer -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null)
}
complete -o default -F _crownlog crownlog

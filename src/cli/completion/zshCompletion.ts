import type { Completed, CompletedCommand, CompletedOption } from './completionTable.js'
import { shellQuoted } from './shellQuoted.js'

/** A script for zsh with its usual completion system. */
export function zshCompletion(table: readonly CompletedCommand[]): string {
  const names = table.map(({ name, about }) =>
    shellQuoted(`${name}:${about.replaceAll(/[\\:]/g, '\\$&')}`),
  )
  return `#compdef ridgepost
# Completion of ridgepost for zsh: ridgepost completion zsh > a folder of $fpath, as _ridgepost
_ridgepost() {
  local -a commands
  if (( CURRENT == 2 )); then
    commands=(
      ${names.join('\n      ')}
    )
    _describe command commands
    return
  fi
  local command=$words[2]
  shift words
  (( CURRENT-- ))
  case $command in
${table.map(commandCase).join('\n')}
  esac
}
if [[ $funcstack[1] == _ridgepost ]]; then
  _ridgepost "$@"
else
  compdef _ridgepost ridgepost
fi
`
}

function commandCase({ name, options, arguments: all }: CompletedCommand): string {
  const specs = [
    ...options.map(optionSpec),
    ...all.map((one, at) => `${at === all.length - 1 ? '*' : ''}:argument:${action(one)}`),
  ]
  return `    ${name}) _arguments ${specs.map(shellQuoted).join(' ')} ;;`
}

function optionSpec({ name, about, value }: CompletedOption): string {
  const described = `[${about.replaceAll('\n', ' ').replaceAll(/[\\[\]:]/g, '\\$&')}]`
  return value === undefined
    ? `${name}${described}`
    : `*${name}=${described}:value:${action(value)}`
}

function action(completed: Completed): string {
  if (completed.kind === 'words') return `(${completed.words.join(' ')})`
  return completed.kind === 'file' ? '_files' : ' '
}

import type { Completed, CompletedCommand } from './completionTable.js'
import { shellQuoted } from './shellQuoted.js'

/** A script for bash 4 and later: nothing of the program runs while somebody types. */
export function bashCompletion(table: readonly CompletedCommand[]): string {
  const names = table.map(({ name }) => name).join(' ')
  const values = table.flatMap(({ name, options }) =>
    options.flatMap((option) =>
      option.value === undefined ? [] : [`    '${name} ${option.name}') ${fill(option.value)} ;;`],
    ),
  )
  return `# Completion of ridgepost for bash: ridgepost completion bash > ~/.local/share/bash-completion/completions/ridgepost
_ridgepost() {
  local word=\${COMP_WORDS[COMP_CWORD]} before=\${COMP_WORDS[COMP_CWORD-1]} command=\${COMP_WORDS[1]}
  # bash takes --option=value apart.
  if [[ $word == = ]]; then
    word=
  elif [[ $before == = ]]; then
    before=\${COMP_WORDS[COMP_CWORD-2]}
  fi
  COMPREPLY=()
  if ((COMP_CWORD == 1)); then
    mapfile -t COMPREPLY < <(compgen -W ${shellQuoted(`${names} --help --version`)} -- "$word")
    return
  fi
  case "$command $before" in
${values.join('\n')}
  esac
  if [[ $word == -* ]]; then
    case $command in
${table.map(({ name, options }) => `      ${name}) ${fill({ kind: 'words', words: options.map((option) => option.name) })} ;;`).join('\n')}
    esac
    return
  fi
  # Which argument it is would need to know which words are values: whatever one of them may be.
  case $command in
${table.map((command) => `    ${command.name}) ${fill(...command.arguments)} ;;`).join('\n')}
  esac
}
complete -F _ridgepost ridgepost
`
}

function fill(...all: readonly Completed[]): string {
  const words = all.flatMap((one) => (one.kind === 'words' ? one.words : []))
  const isFile = all.some(({ kind }) => kind === 'file')
  if (words.length === 0 && !isFile) return 'return'
  const actions = [
    ...(isFile ? ['-f'] : []),
    ...(words.length > 0 ? ['-W', shellQuoted(words.join(' '))] : []),
  ]
  // compopt may only be used while bash completes.
  const names = isFile ? 'compopt -o filenames 2> /dev/null; ' : ''
  return `${names}mapfile -t COMPREPLY < <(compgen ${actions.join(' ')} -- "$word"); return`
}

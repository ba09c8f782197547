import type { Completed, CompletedCommand } from './completionTable.js'

/** A script for fish. */
export function fishCompletion(table: readonly CompletedCommand[]): string {
  const lines = table.flatMap(({ name, about, options, arguments: all }) => [
    `complete -c ridgepost -n __ridgepost_begins -a ${quoted(name)} -d ${quoted(about)}`,
    ...options.map(
      (option) =>
        `complete -c ridgepost -n '__ridgepost_is ${name}' -l ${option.name.slice(2)}${option.value === undefined ? '' : optionValue(option.value)} -d ${quoted(option.about)}`,
    ),
    ...all.flatMap((one) => {
      const what = argumentOf(one)
      return what === '' ? [] : [`complete -c ridgepost -n '__ridgepost_is ${name}'${what}`]
    }),
  ])
  return `# Completion of ridgepost for fish: ridgepost completion fish > ~/.config/fish/completions/ridgepost.fish
function __ridgepost_begins
  test (count (commandline -opc)) -eq 1
end
function __ridgepost_is
  set -l words (commandline -opc)
  test (count $words) -ge 2; and test $words[2] = $argv[1]
end
complete -c ridgepost -f
complete -c ridgepost -n __ridgepost_begins -l version -d 'the version'
${lines.join('\n')}
`
}

/** Files are named where they belong: elsewhere there are none (-f). */
function argumentOf(completed: Completed): string {
  if (completed.kind === 'words') return ` -a ${quoted(completed.words.join(' '))}`
  return completed.kind === 'file' ? ' -F' : ''
}

const optionValue = (completed: Completed): string =>
  completed.kind === 'file' ? ' -r -F' : ` -x${argumentOf(completed)}`

/** fish knows two escapes within single quotes. */
const quoted = (text: string): string =>
  `'${text.replaceAll('\n', ' ').replaceAll(/[\\']/g, '\\$&')}'`

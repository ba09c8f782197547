import type { Argument, Command, Option } from 'commander'
import type { Edges } from '../../devices/edges.js'
import { commands } from '../commands.js'

/** What may stand in a place of the command line: one of these words, a file, or what nobody can foresee. */
export type Completed =
  | { readonly kind: 'words'; readonly words: readonly string[] }
  | { readonly kind: 'file' }
  | { readonly kind: 'text' }

export interface CompletedOption {
  /** with its hyphens */
  readonly name: string
  readonly about: string
  /** undefined for one that takes no value */
  readonly value: Completed | undefined
}

export interface CompletedCommand {
  readonly name: string
  readonly about: string
  readonly options: readonly CompletedOption[]
  /** arguments in their order; the last one stands for those after it, too */
  readonly arguments: readonly Completed[]
}

/** Every command, out of the declarations that the command itself reads. */
export async function completionTable(): Promise<CompletedCommand[]> {
  const table: CompletedCommand[] = []
  for (const [name, { load, summary, config }] of Object.entries(commands)) {
    // A command uses the outside when it runs, not when it is described.
    const command = (await load())({} as Edges)
    const options = visibleOptions(command)
    if (config === 'argument')
      options.push({ name: '--config', about: 'the configuration', value: { kind: 'file' } })
    table.push({
      ...{ name, about: summary, options },
      arguments: command.registeredArguments.map((argument) =>
        completed(argument.argChoices, argument.name()),
      ),
    })
  }
  const names = table.map(({ name }) => name)
  const help: CompletedCommand = {
    ...{ name: 'help', about: 'say what a command does, and its options', options: [] },
    arguments: [{ kind: 'words', words: names }],
  }
  return [...table, help]
}

const visibleOptions = (command: Command): CompletedOption[] =>
  command
    .createHelp()
    .visibleOptions(command)
    .flatMap((option) => (option.long ? [optionOf(option, option.long)] : []))

const optionOf = (option: Option, name: string): CompletedOption => ({
  ...{ name, about: option.description },
  value:
    option.required || option.optional
      ? completed(option.argChoices, /[<[](.*?)[>\]]/.exec(option.flags)?.[1] ?? '')
      : undefined,
})

/** @param name of the value or argument, as its help has it: `file.pcap` */
function completed(
  choices: Argument['argChoices'] | Option['argChoices'],
  name: string,
): Completed {
  if (choices !== undefined) return { kind: 'words', words: choices }
  return /^(file|folder|path|config)/.test(name) ? { kind: 'file' } : { kind: 'text' }
}

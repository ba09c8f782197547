import { Argument, Command } from 'commander'
import type { Edges } from '../../devices/edges.js'
import { bashCompletion } from './bashCompletion.js'
import { completionTable } from './completionTable.js'
import { fishCompletion } from './fishCompletion.js'
import { zshCompletion } from './zshCompletion.js'

const scripts = { bash: bashCompletion, zsh: zshCompletion, fish: fishCompletion } as const

/** `ridgepost completion`: what a shell reads to complete commands, options and their values. */
export function completionCommand({ stdout }: Edges): Command {
  return new Command('completion')
    .description(
      'Print a script that completes commands, options and their values in a shell. Where it goes stands in its first lines.',
    )
    .addArgument(new Argument('<shell>', 'whose script').choices(Object.keys(scripts)))
    .action(async (shell: keyof typeof scripts) => {
      stdout.write(scripts[shell](await completionTable()))
    })
}

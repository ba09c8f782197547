import type { Command } from 'commander'
import type { Edges } from '../devices/edges.js'

/** A command, known by name and summary without being loaded. */
export interface CommandEntry {
  readonly summary: string
  /** how it names its configuration: as an argument, as --config, or not at all */
  readonly config: 'argument' | 'option' | 'none'
  /** its own file, loaded only when it is asked for, so that `decode` never waits for a database driver */
  readonly load: () => Promise<(edges: Edges) => Command>
}

/** In the order in which the help lists them. */
export const commands: Readonly<Record<string, CommandEntry>> = {
  setup: {
    summary: 'ask what a station must know, try its devices, write its configuration',
    config: 'argument',
    load: async () => (await import('./setup/setup.js')).setupCommand,
  },
  run: {
    summary: 'run the node: hear the radio, answer, keep what was heard',
    config: 'argument',
    load: async () => (await import('./run/run.js')).runCommand,
  },
  check: {
    summary: 'say what a configuration does, and look whether all it needs is there',
    config: 'argument',
    load: async () => (await import('./check/check.js')).checkCommand,
  },
  levels: {
    summary: 'show level, tone balance and spectrum of an input, with advice',
    config: 'option',
    load: async () => (await import('./levels/levels.js')).levelsCommand,
  },
  tone: {
    summary: 'send a test tone for setting deviation, or write it to a file',
    config: 'argument',
    load: async () => (await import('./tone/tone.js')).toneCommand,
  },
  exposure: {
    summary: 'estimate RF exposure: limits, distances, a plot',
    config: 'argument',
    load: async () => (await import('./exposure/exposure.js')).exposureCommand,
  },
  ask: {
    summary: 'ask a service without a radio',
    config: 'option',
    load: async () => (await import('./ask/ask.js')).askCommand,
  },
  load: {
    summary: 'check a data file, and put it in the place of the old one',
    config: 'option',
    load: async () => (await import('./load/load.js')).loadCommand,
  },
  log: {
    summary: 'show what was heard, asked, answered and refused; back-up and restore',
    config: 'option',
    load: async () => (await import('./log/log.js')).logCommand,
  },
  hold: {
    summary: 'stop all sending of the running node',
    config: 'option',
    load: async () => (await import('./operator/operator.js')).holdCommand,
  },
  release: {
    summary: "end the operator's hold",
    config: 'option',
    load: async () => (await import('./operator/operator.js')).releaseCommand,
  },
  state: {
    summary: 'say what the running node does',
    config: 'option',
    load: async () => (await import('./operator/operator.js')).stateCommand,
  },
  say: {
    summary: 'send a message as the station',
    config: 'option',
    load: async () => (await import('./operator/operator.js')).sayCommand,
  },
  beacon: {
    summary: 'send a beacon now',
    config: 'option',
    load: async () => (await import('./operator/operator.js')).beaconCommand,
  },
  reload: {
    summary: 'have the running node read its configuration again',
    config: 'option',
    load: async () => (await import('./operator/operator.js')).reloadCommand,
  },
  tactical: {
    summary: 'say who holds a tactical name of the event',
    config: 'option',
    load: async () => (await import('./operator/operator.js')).tacticalCommand,
  },
  entries: {
    summary: 'find and withdraw what goes from hill to hill',
    config: 'option',
    load: async () => (await import('./operator/operator.js')).entriesCommand,
  },
  sign: {
    summary: 'print a sign for the station: whose it is, how it is stopped',
    config: 'argument',
    load: async () => (await import('./sign.js')).signCommand,
  },
  enrol: {
    summary: 'enrol who may stop the station by radio',
    config: 'option',
    load: async () => (await import('./enrol.js')).enrolCommand,
  },
  password: {
    summary: "print the hash of a password for the page, or a script's token",
    config: 'none',
    load: async () => (await import('./password.js')).passwordCommand,
  },
  completion: {
    summary: 'print what a shell needs to complete commands and options',
    config: 'none',
    load: async () => (await import('./completion/completion.js')).completionCommand,
  },
  decode: {
    summary: 'find the frames in recordings',
    config: 'none',
    load: async () => (await import('./decode/decode.js')).decodeCommand,
  },
  encode: {
    summary: 'write frames as audio to a file',
    config: 'none',
    load: async () => (await import('./encode/encode.js')).encodeCommand,
  },
  demo: {
    summary: 'show an exchange on a simulated radio channel',
    config: 'none',
    load: async () => (await import('./demo/demo.js')).demoCommand,
  },
}

/**
 * Both ways of naming the configuration work with every command that needs one: a file whose name ends in .toml, or
 * --config FILE. What was given is put in the form that the command reads.
 * @param words the command's arguments, without its name
 */
export function configArgument(way: CommandEntry['config'], words: readonly string[]): string[] {
  if (way === 'none') return [...words]
  const at = words.findIndex((word) => word === '--config' || word.startsWith('--config='))
  if (way === 'argument') {
    const given = words[at]
    if (given === undefined) return [...words]
    if (given !== '--config') return [...words.toSpliced(at, 1), given.slice('--config='.length)]
    const file = words[at + 1]
    return file === undefined ? [...words] : [...words.toSpliced(at, 2), file]
  }
  if (at >= 0) return [...words]
  const isFile = (word: string, index: number): boolean =>
    word.endsWith('.toml') && !word.startsWith('-') && !words[index - 1]?.startsWith('--')
  const file = words.findIndex(isFile)
  return file < 0 ? [...words] : [...words.toSpliced(file, 1), '--config', words[file]!]
}

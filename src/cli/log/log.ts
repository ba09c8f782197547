import { dirname, resolve } from 'node:path'
import { Command, InvalidArgumentError, Option } from 'commander'
import type { Edges } from '../../devices/edges.js'
import { every } from '../../runtime/clock.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { parseCall } from '../../services/callWords.js'
import type { DatabaseSummary } from '../../store/backup.js'
import { type EventFilter, type EventKind, eventKinds } from '../../store/events.js'
import { openStoreReader, type StoreReader } from '../../store/readOnly.js'
import { confirm } from '../shared/confirm.js'
import { wholeNumber } from '../shared/optionValues.js'
import { type TextOutput, textOutput } from '../shared/textOutput.js'
import { type Moment, momentOption, wallMsOf } from '../shared/times.js'
import { UsageError } from '../shared/usageError.js'
import { type EventFormat, eventFormats } from './event/eventFormats.js'
import { type LogFormat, logHeader, logLine } from './logFormat.js'
import { type AskedTime, askedTime, onAirLines } from './onAirAnswer.js'

interface LogFlags {
  readonly config?: string
  readonly database?: string
  readonly since?: Moment
  readonly until?: Moment
  readonly station?: string
  readonly kind: readonly EventKind[]
  readonly reference?: string
  readonly limit: number | 'all'
  readonly format: EventFormat
  readonly event?: boolean
  readonly follow?: boolean
  readonly summary?: boolean
  readonly onAir?: AskedTime
  readonly backup?: string
  readonly restore?: string
  readonly yes?: boolean
}

const examples = `
Kinds: ${eventKinds.map((kind) => kind.replace(' ', '-')).join(', ')}

Examples:
  ridgepost log --config node.toml --since 2h --kind asked --kind answered
  ridgepost log --config node.toml --station N0CALL-7 --format csv > n0call-7.csv
  ridgepost log --config node.toml --follow
  ridgepost log --config node.toml --event --format page > walk.html
  ridgepost log --config node.toml --backup /media/stick/node.db
`

// What only some of its forms need is loaded by these: the rules of a configuration alone take as long as a look at the log.

/** `ridgepost log`: what was heard, asked, answered, held and refused; and the database's back-up. */
export function logCommand(edges: Edges): Command {
  return new Command('log')
    .description(
      'Show what the node heard, was asked, answered, held and refused. The node may run meanwhile.',
    )
    .option('--config <file>', "the node's configuration, which names its database")
    .option('--database <file>', 'the database itself, instead of --config')
    .option(
      '--since <time>',
      'from this time on: 2026-06-21T16:00 (UTC), or 10m, 2h, 3d before now',
      momentOption,
    )
    .option('--until <time>', 'before this time, given likewise', momentOption)
    .option('--station <call>', 'of one station; without SSID, of all its SSIDs', stationOption)
    .option('--kind <kind>', 'of this kind only; may be repeated', kindOption, [])
    .option(
      '--reference <name>',
      'of one thing: Q12 a question, M31 a message, B4 mail, T9 a frame of a KISS client',
      referenceOption,
    )
    .option('--limit <n>', 'the newest so many, or all', limitOption, 1000)
    .addOption(
      new Option('--format <format>', 'for a person, or for a program')
        .choices(eventFormats)
        .default('text'),
    )
    .option('--follow', 'go on with what happens from now on, until interrupted')
    .option('--summary', 'only how many there were of each kind')
    .option(
      '--on-air <time>',
      "whether it sent at that time: 20:14 of the station's local time, or as --since; an answer to print",
      askedTime,
    )
    .option(
      '--event',
      'the communications log of the [event]: every message that was on the air, and when it was confirmed; --format page prints it',
    )
    .option('--backup <file>', 'copy the database to a file, whole and checked, and end')
    .option(
      '--restore <file>',
      'put a back-up in the place of the database; the node must be stopped',
    )
    .option('--yes', 'restore without asking')
    .addHelpText('after', examples)
    .action(async (flags: LogFlags) => {
      const file = await databaseOf(flags, edges)
      if (flags.event === true) await tellEvent(file, flags, edges)
      else if (flags.format === 'page') throw pageAlone
      else if (flags.onAir !== undefined) await tellOnAir(file, flags.onAir, flags, edges)
      else if (flags.backup !== undefined) await backup(file, flags.backup, edges)
      else if (flags.restore !== undefined) await restore(file, flags.restore, flags, edges)
      else await show(file, { ...flags, format: flags.format }, edges)
    })
}

async function databaseOf(flags: LogFlags, edges: Edges): Promise<string> {
  if ((flags.config === undefined) === (flags.database === undefined))
    throw new UsageError({
      code: 'log-database',
      subject: 'log',
      got: flags.config === undefined ? 'no database' : 'both --config and --database',
      expected: 'either --config FILE or --database FILE',
    })
  if (flags.database !== undefined) return flags.database
  const { loadConfig } = await import('../../config/load.js')
  const { storeOptions } = await import('../../setup/nodeOptions.js')
  const config = await loadConfig(flags.config!)
  const { file } = storeOptions(config, dirname(resolve(flags.config!)), edges.clock, () => {})
  return file
}

const pageAlone = new UsageError({
  ...{ code: 'log-page', subject: '--format', got: 'page alone' },
  expected: 'page with --event: only the log of an event is a page',
})

async function tellEvent(file: string, flags: LogFlags, edges: Edges): Promise<void> {
  const { config, since, until, format } = flags
  if (config === undefined)
    throw new UsageError({
      ...{ code: 'log-event', subject: '--event', got: 'a database alone' },
      expected: 'the configuration, which names the event: --config FILE',
    })
  const nowWallMs = edges.clock.wallMs()
  const { writeEventLog } = await import('./event/eventLog.js')
  await writeEventLog(
    {
      ...{ config, database: file, format },
      sinceWallMs: since && wallMsOf(since, nowWallMs),
      untilWallMs: until && wallMsOf(until, nowWallMs),
    },
    edges,
  )
}

async function tellOnAir(
  file: string,
  asked: AskedTime,
  { config }: LogFlags,
  { clock, stdout }: Edges,
): Promise<void> {
  const { loadConfig, parseConfig } = await import('../../config/load.js')
  // Of a database alone nobody knows the zone: UTC, and no name.
  const known = config === undefined ? parseConfig('', 'log') : await loadConfig(config)
  const reader = openStoreReader(file, () => clock.wallMs())
  try {
    for (const line of onAirLines(asked, known, reader, clock.wallMs()))
      stdout.write(`${harmlessText(line)}\n`)
  } finally {
    reader.close()
  }
}

async function backup(file: string, toFile: string, edges: Edges): Promise<void> {
  const { backupDatabase } = await import('../../store/backup.js')
  const summary = await backupDatabase(file, toFile, {
    clock: edges.clock,
    onLeft: (partial) =>
      edges.stderr.write(`Removed ${partial}: a back-up that was broken off had left it.\n`),
  })
  edges.stdout.write(`Backed up to ${summary.file}: ${summaryWords(summary)}\n`)
}

async function restore(file: string, from: string, flags: LogFlags, edges: Edges): Promise<void> {
  const { checkDatabase, restoreDatabase } = await import('../../store/backup.js')
  const { lockDatabase } = await import('../../setup/databaseLock.js')
  checkDatabase(from)
  if (flags.yes !== true && !(await confirm(edges, `Put ${from} in the place of ${file}?`))) {
    edges.stderr.write('Nothing was restored.\n')
    edges.setExitCode(1)
    return
  }
  const unlock = await lockDatabase(file, edges.clock)
  const { summary, formerFile } = await restoreDatabase(from, file, edges.clock).finally(unlock)
  edges.stdout.write(`Restored ${file}: ${summaryWords(summary)}\n`)
  if (formerFile !== undefined) edges.stdout.write(`The former one is kept as ${formerFile}\n`)
}

const summaryWords = (summary: DatabaseSummary): string =>
  `${summary.eventCount} events, ${summary.messageCount} messages, ${summary.mailboxCount} in the mailbox, ${summary.letterCount} letters, ${summary.stationCount} stations`

async function show(
  file: string,
  flags: LogFlags & { readonly format: LogFormat },
  edges: Edges,
): Promise<void> {
  const { clock } = edges
  const reader = openStoreReader(file, () => clock.wallMs())
  const output = textOutput(edges.stdout, 'standard output')
  try {
    const filter = filterOf(flags, clock.wallMs())
    if (flags.summary === true) writeSummary(reader, filter, output, flags.format)
    else {
      output.write(logHeader(flags.format))
      const lastId = await writeEvents(reader, filter, output, flags.format)
      const { limit } = filter
      if (limit !== undefined && flags.follow !== true && reader.events.isMoreThan(limit, filter))
        edges.stderr.write(`These are the newest ${limit}; --limit all gives all.\n`)
      if (flags.follow === true) await follow(reader, filter, lastId, output, flags.format, edges)
    }
    await output.end()
  } finally {
    reader.close()
  }
}

function filterOf(flags: LogFlags, nowWallMs: number): EventFilter {
  const { since, until, station, kind, reference, limit } = flags
  return {
    sinceWallMs: since && wallMsOf(since, nowWallMs),
    untilWallMs: until && wallMsOf(until, nowWallMs),
    station,
    kinds: kind,
    reference,
    limit: limit === 'all' ? undefined : limit,
  }
}

/** @returns the number of the last event written, or the one that the filter began after */
async function writeEvents(
  reader: StoreReader,
  filter: EventFilter,
  output: TextOutput,
  format: LogFormat,
): Promise<number | undefined> {
  let lastId = filter.afterId
  let count = 0
  for (const event of reader.events.each(filter)) {
    if (output.isGone) break
    output.write(logLine(event, format))
    lastId = event.id
    if (++count % 500 === 0) await output.ready()
  }
  return lastId
}

const followEveryMs = 1000

function follow(
  reader: StoreReader,
  filter: EventFilter,
  fromId: number | undefined,
  output: TextOutput,
  format: LogFormat,
  edges: Edges,
): Promise<void> {
  // Without an event to begin after, everything that the filter lets through is new.
  let afterId = fromId ?? 0
  let looking = false
  return new Promise((done, fail) => {
    const end = (finish: () => void): void => {
      cancel()
      finish()
    }
    const look = async (): Promise<void> => {
      if (output.isGone) return end(done)
      // A slow reader of the output is waited for; meanwhile nothing is looked up again.
      if (looking || !reader.hasChanged()) return
      looking = true
      const next = { ...filter, afterId, limit: undefined }
      afterId = (await writeEvents(reader, next, output, format)) ?? afterId
      looking = false
    }
    const cancel = every(edges.clock, followEveryMs, () => {
      look().catch((error: unknown) => end(() => fail(error)))
    })
    edges.onStop(() => end(done))
  })
}

function writeSummary(
  reader: StoreReader,
  filter: EventFilter,
  output: TextOutput,
  format: LogFormat,
): void {
  const counts = reader.events.count(filter)
  const rows = eventKinds.flatMap((kind): [string, number][] => {
    const count = counts[kind]
    return count === undefined ? [] : [[kind, count]]
  })
  if (format === 'json') output.write(`${JSON.stringify(Object.fromEntries(rows))}\n`)
  else if (format === 'csv')
    output.write(`kind,count\n${rows.map(([kind, count]) => `${kind},${count}\n`).join('')}`)
  else
    for (const [kind, count] of rows)
      output.write(`${kind.padEnd(12)} ${String(count).padStart(8)}\n`)
}

function kindOption(text: string, previous: readonly EventKind[]): readonly EventKind[] {
  const kind = text.replace('-', ' ') as EventKind
  if (!eventKinds.includes(kind))
    throw new InvalidArgumentError(
      `Expected one of ${eventKinds.map((one) => one.replace(' ', '-')).join(', ')}.`,
    )
  return [...previous, kind]
}

function limitOption(text: string): number | 'all' {
  return text === 'all' ? 'all' : wholeNumber(1, 1_000_000_000, ', or all')(text)
}

function stationOption(text: string): string {
  const call = parseCall(text)
  if (call === undefined) throw new InvalidArgumentError('Expected a call sign such as N0CALL-7.')
  return call
}

function referenceOption(text: string): string {
  if (!/^[A-Za-z]\d+$/.test(text))
    throw new InvalidArgumentError('Expected a letter and a number, such as Q12.')
  return text.toUpperCase()
}

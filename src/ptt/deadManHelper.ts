// Entry of the helper process that owns a key line. It lives as long as its standard input: when whoever feeds it dies, however
// that happens, the kernel closes that pipe, and the line is released. A process of its own, in a session of its own, because a
// stopped or killed process cannot release anything.
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { systemClock } from '../runtime/systemClock.js'
import { createDeadMan, type DeadMan } from './deadMan.js'
import { openEdgeLog } from './edgeLog.js'
import { type HelperOptions, type HelperWord, lineSplitter } from './helperProtocol.js'
import { openPttOutput } from './openOutput.js'
import { comeFirst } from './priority.js'

const options = JSON.parse(process.argv[2] ?? '{}') as HelperOptions
const clock = systemClock()

const tell = (word: HelperWord): void => {
  process.stdout.write(`${JSON.stringify(word)}\n`)
}
// Whoever listened may be gone: that must not keep the line on.
process.stdout.on('error', () => {})
process.stderr.on('error', () => {})

async function main(): Promise<void> {
  const output = await openPttOutput(options, clock, comeFirst())
  await output.prepare?.()
  const log = options.logFile === '' ? undefined : openEdgeLog(options.logFile, clock)
  log?.write('unkeyed', 'at the start')
  const deadMan = createDeadMan({
    output,
    clock,
    log,
    feedLimitMs: options.deadManMs,
    keyedMsMax: options.keyedMsMax,
    afterPending: (run) => setImmediate(run),
    tell,
  })
  const end = async (reason: string, status: number): Promise<void> => {
    await deadMan.end(reason)
    await output.close().catch(() => {})
    process.exit(status)
  }
  listen(deadMan, end)
  tell({ word: 'ready', name: output.name })
}

function listen(deadMan: DeadMan, end: (reason: string, status: number) => Promise<void>): void {
  const take = lineSplitter((line) => {
    if (line === 'feed') deadMan.feed()
    else if (line.startsWith('key ')) deadMan.key(Number(line.slice(4)))
    else if (line === 'unkey') deadMan.unkey()
  })
  process.stdin.on('data', take)
  process.stdin.on('end', () => void end('its owner is gone', 0))
  process.stdin.on('error', () => void end('its owner is gone', 0))
  // Asked to stop: off at once, but stay until the owner has finished, who would take a missing helper for a fault.
  process.on('SIGTERM', () => void deadMan.end('the helper was told to stop'))
  process.on('SIGINT', () => {})
  process.on('SIGHUP', () => {})
  process.on('uncaughtException', (error) => {
    tell({ word: 'fault', reason: errorText(error) })
    void end('the helper failed', 1)
  })
}

main().catch((error: unknown) => {
  const reason = errorText(error)
  if (error instanceof Failure) {
    const { code: _, cause: __, ...detail } = error.detail
    tell({ word: 'fault', reason, detail })
  } else tell({ word: 'fault', reason })
  process.exitCode = 1
})

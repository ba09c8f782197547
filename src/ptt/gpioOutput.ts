import { findProgram, tied } from '../devices/child.js'
import type { Clock } from '../runtime/clock.js'
import { commandFailure, type RunningCommand, runCommand, startCommand } from './childCommand.js'
import type { PttOutput } from './pttOutput.js'

/** How the installed tools of libgpiod want to be called; version 2 changed the form. */
export type GpioToolVersion = 1 | 2

/**
 * Words that hold a line at a level until the program is ended.
 * @see the tools' own help texts: gpioset of libgpiod 1.6 (`--mode=signal`, chip as first word); of 2.x (`--chip`, holds by
 *   itself; from memory)
 */
function holdWords(
  version: GpioToolVersion,
  line: { chip: string; line: number },
  high: boolean,
): string[] {
  const setting = `${line.line}=${high ? 1 : 0}`
  return version === 1
    ? ['gpioset', '--mode=signal', line.chip, setting]
    : ['gpioset', '--chip', line.chip, setting]
}

/** Words that read a line once. */
export function readWords(
  version: GpioToolVersion,
  line: { chip: string; line: number },
): string[] {
  return version === 1
    ? ['gpioget', line.chip, String(line.line)]
    : ['gpioget', '--numeric', '--chip', line.chip, String(line.line)]
}

/** @throws Failure when the tools are not installed */
export async function gpioToolVersion(clock: Clock): Promise<GpioToolVersion> {
  const words = ['gpioset', '--version']
  const { status, output } = await runCommand(words, clock, 2000)
  const match = /v(\d+)\./.exec(output)
  if (match === null) throw commandFailure(words, output === '' ? status : output.split('\n')[0]!)
  return Number(match[1]) >= 2 ? 2 : 1
}

/** The tool needs that long to take the line; if it cannot, it has ended by then. */
const settleMs = 30

/**
 * A line of a GPIO chip. A child process holds it at its level all the time: the kernel takes a line back from a process that
 * ends, and what the pin does then depends on the board. To change the level, the child is replaced.
 * @throws Failure 'ptt-command' when the tools are missing or the line cannot be had
 */
export async function openGpioOutput(
  options: { chip: string; line: number; activeLow: boolean },
  clock: Clock,
): Promise<PttOutput> {
  // The kernel ends the holder when this process dies in whatever way: an orphan would go on holding the line.
  if (findProgram('setpriv') === undefined) throw commandFailure(['setpriv'], 'no such program')
  const version = await gpioToolVersion(clock)
  let holder: RunningCommand | undefined
  let wanted = 0

  const set = async (on: boolean): Promise<void> => {
    const turn = ++wanted
    const before = holder
    holder = undefined
    before?.kill('SIGTERM')
    await before?.ended
    // Unkeying may have come while the old holder was ending: the latest wish wins.
    if (turn !== wanted) return
    const words = holdWords(version, options, on !== options.activeLow)
    const next = startCommand(tied(words, 'TERM'), 'ignore')
    holder = next
    await next.started
    let cancel = (): void => {}
    const settled = new Promise<undefined>((resolve) => {
      cancel = clock.at(clock.monotonicMs() + settleMs, () => resolve(undefined))
    })
    const early = await Promise.race([settled, next.ended])
    cancel()
    if (early !== undefined && holder === next) throw commandFailure(words, early.status)
  }
  await set(false)
  return {
    name: `GPIO ${options.chip} line ${options.line}${options.activeLow ? ', active low' : ''}`,
    key: () => set(true),
    unkey: () => set(false),
    async close() {
      await set(false).finally(async () => {
        wanted++
        holder?.kill('SIGTERM')
        await holder?.ended
      })
    },
  }
}

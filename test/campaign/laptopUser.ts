import { seededRandom } from '../../src/runtime/random.js'
import type { VirtualClock } from '../../src/runtime/virtualClock.js'
import type { Channel } from '../../src/simulation/channel.js'
import { type Laptop, laptop } from '../../src/simulation/laptop.js'
import { simulatedRadio } from '../../src/simulation/simulatedRadio.js'
import type { Oracle } from './oracle.js'

export const laptopCall = 'Q0LAP-2'
const everyMs = 12 * 60_000
const lookMs = 10_000

/**
 * Somebody who connects to the node now and then, asks something that nobody else asks, and leaves. What a session that ran to its
 * end left on the screen is whole and in order; one that broke, as the process dies or the channel is too bad, is known as that.
 */
export function laptopUser(parts: {
  readonly clock: VirtualClock
  readonly channel: Channel
  readonly oracle: Oracle
  readonly nodeCall: string
  readonly seed: number
}): void {
  const { clock, channel, oracle, nodeCall } = parts
  const port = simulatedRadio({
    ...{ clock, channel, call: laptopCall, random: seededRandom(parts.seed) },
  })
  const terminal: Laptop = laptop({ port, clock, call: laptopCall, nodeCall })
  let number = 7000
  /** What was typed while no connection came about is sent over the next one. */
  let typed: number[] = []

  const whenIdle = (run: () => void): void => {
    clock.at(clock.monotonicMs() + lookMs, () => {
      if (terminal.idle) run()
      else whenIdle(run)
    })
  }

  const visit = (): void => {
    const begin = terminal.screen.length
    number++
    typed = [...typed.slice(-200), number]
    terminal.type(`read ${number}`)
    terminal.type('bye')
    whenIdle(() => {
      check(terminal.screen.slice(begin))
      clock.at(clock.monotonicMs() + everyMs, visit)
    })
  }

  const check = (screen: string): void => {
    if (!screen.endsWith('73.\r')) return
    const prompt = `${nodeCall}>`
    const lines = screen.split('\r').slice(0, -1)
    // A call that was repeated is greeted once more.
    const rest = lines.slice(lines.lastIndexOf(prompt, lines.length - 4) + 1)
    const asked = typed.find((one) => rest[0] === `${one}? letters: the list`) ?? number
    const wanted = [`${asked}? letters: the list`, prompt, '73.']
    oracle.check(
      'what is read over a connection is whole',
      JSON.stringify(rest) === JSON.stringify(wanted),
      () => `${JSON.stringify(lines)}, expected ${JSON.stringify(wanted)} at the end`,
    )
  }

  clock.at(clock.monotonicMs() + 5 * 60_000, visit)
}

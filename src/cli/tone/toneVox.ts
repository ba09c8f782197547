import { createInterface } from 'node:readline'
import type { RadioSection } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import type { RadioPort } from '../../radio/radioPort.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { wrapped } from '../shared/finding.js'
import { finalOutcome } from './finalOutcome.js'
import { afterLook, beginHangSearch, type HangFound, hangMsFor, nearMs } from './hangSearch.js'

/** What somebody saw between two tones. */
export type Seen = 'off' | 'on' | 'again' | 'end'

const gapMsMost = 5000
/** What devices and channel access take of the time-out timer, ms. */
const aroundMs = 600
/** Each tone is longer than the attack by that, ms. */
export const burstMs = 300
const waitMs = 60_000

/**
 * Finds how long a radio stays on the air after its audio: between two tones it goes off if the silence is longer than its hang.
 * @param look sends two tones with so much silence between them, and says what the radio did in it
 * @returns undefined when nobody wants to go on
 */
export async function findHang(
  gapMsMax: number,
  look: (gapMs: number) => Promise<Seen>,
): Promise<HangFound | undefined> {
  const seen = async (gapMs: number): Promise<Exclude<Seen, 'again'>> => {
    for (;;) {
      const one = await look(gapMs)
      if (one !== 'again') return one
    }
  }
  for (let search = beginHangSearch(gapMsMax); ; ) {
    const one = await seen(search.gapMs)
    if (one === 'end') return undefined
    const after = afterLook(search, one === 'off')
    if ('found' in after) return after.found
    search = after.next
  }
}

/** The longest silence that fits the time-out timer with both tones and what is taken for the hang so far. */
export function longestGapMs({ ptt, transmit }: RadioSection): number {
  const tonesMs = 2 * (transmit.keyDelayMs + burstMs)
  return Math.min(gapMsMost, transmit.timeOutMs - tonesMs - (ptt.hangMs ?? 0) - aroundMs)
}

/**
 * Asks whoever watches the radio, until its hang is known, and says what to write.
 * @returns whether it is known
 */
export async function askForHang(
  port: RadioPort,
  radio: RadioSection,
  { clock, stderr, stdin }: Pick<Edges, 'clock' | 'stderr' | 'stdin'>,
): Promise<boolean> {
  const say = (text: string): void => void stderr.write(`${wrapped(text, '').join('\n')}\n`)
  const gapMsMax = longestGapMs(radio)
  if (gapMsMax < nearMs) {
    say(
      'the time-out timer leaves no room for two tones: raise transmit.timeOutMs, or lower ptt.hangMs',
    )
    return false
  }
  const lines = createInterface({ input: stdin, terminal: false })
  const answers = lines[Symbol.asyncIterator]()
  let count = 0
  const look = async (gapMs: number): Promise<Seen> => {
    const id = `vox ${++count}`
    const durationMs = 2 * (radio.transmit.keyDelayMs + burstMs) + gapMs
    const notAfterMs = clock.monotonicMs() + waitMs
    const ended = finalOutcome(port, id)
    port.sendTone({ id, tone: 'mark', durationMs, gapMs, notAfterMs })
    const outcome = await ended
    if (outcome.kind !== 'sent') {
      say(`not sent: ${harmlessText(outcome.reason)}`)
      return 'end'
    }
    stderr.write(
      `silence of ${gapMs} ms: did the light go out in it? [y]es, [n]o, [a]gain, [q]uit: `,
    )
    const answer = await answers.next()
    return answer.done ? 'end' : seenBy(answer.value)
  }
  say(
    "Watch the radio's transmit light, or listen with a second receiver whose squelch is open (noise between the tones means that it went off).",
  )
  const found = await findHang(gapMsMax, look)
  lines.close()
  for (const text of found === undefined ? [] : describeHang(found)) say(text)
  return found !== undefined && Number.isFinite(found.toMs)
}

const seenBy = (answer: string): Seen =>
  (({ y: 'off', n: 'on', q: 'end' }) as const)[answer.trim().toLowerCase().slice(0, 1)] ?? 'again'

function describeHang({ fromMs, toMs }: HangFound): string[] {
  if (!Number.isFinite(toMs))
    return [
      `it stays on the air for more than ${fromMs} ms: shorten the radio's VOX delay; is it keyed by the audio at all?`,
    ]
  const hangMs = hangMsFor({ fromMs, toMs })
  return [
    `It stays on the air for ${fromMs} to ${toMs} ms after its audio. Write ptt.hangMs = ${hangMs}, a tenth more.`,
    'Its attack is part of the key delay: measure that with `ridgepost tone flags`, and leave ptt.attackMs out.',
  ]
}

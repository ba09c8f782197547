import { describe, expect, it } from 'vitest'
import { decodeFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import { type ContentPlanOptions, createContentPlan } from '../../src/radio/contentPlan.js'
import type { ChannelAccess } from '../../src/radio/radioPort.js'
import type { TransmissionContent } from '../../src/radio/transmissionContent.js'
import type { Waiting } from '../../src/radio/transmitQueue.js'
import { frame, ownCall, transmitDefaults } from './fixtures.js'

const access: ChannelAccess = {
  ...{ keyDelayMs: 300, tailMs: 50, slotTimeMs: 100, persistence: 63, fullDuplex: false },
}

/** Each octet takes a millisecond, and Morse a second: figures can be told by hand. */
const durationMs = (content: TransmissionContent): number => {
  if (content.kind === 'tone') return content.durationMs
  const octets = content.frames.reduce((sum, { length }) => sum + length, 0)
  return content.preambleMs + octets + content.tailMs + (content.morse === undefined ? 0 : 1000)
}

const planOf = (change: Partial<ContentPlanOptions> = {}) =>
  createContentPlan({
    ...{ ...transmitDefaults, access, dutyLimits: [], timeOutMs: 8000 },
    ...{ durationMs, keyOverheadMs: 50, unkeyMarginMs: 10, hangMs: 5, ...change },
  })

const item = (content: Waiting['content']): Waiting => ({
  ...{ id: 'a', priority: 'answer', notAfterMs: 1, origin: 'node', sinceMs: 0, content },
})
const framed = (octets: Uint8Array): Waiting => item({ kind: 'frame', octets, identifies: true })
const tone = (durationMs: number, of: 'mark' | 'flags' = 'mark', gapMs?: number): Waiting =>
  item({ kind: 'tone', tone: of, durationMs, gapMs })
const octets = (length: number): Uint8Array => new Uint8Array(length)

const lines = (content: TransmissionContent): string[] =>
  content.kind === 'tone'
    ? []
    : content.frames.map((one) => {
        const read = decodeFrame(one)
        return read.ok ? formatLine(read.frame) : read.reason
      })
const il2p = { kind: 'il2p', hasCrc: true } as const
const fx25 = { kind: 'fx25', checkOctets: 16 } as const

describe('what a transmission carries', () => {
  it('frames, under the settings of the moment, in the code and at the rate that are configured', () => {
    const plan = planOf({ code: il2p, bitRate: 9600 })
    const frames = [octets(3), octets(4)]
    const common = { kind: 'frames', frames, preambleMs: 300, code: il2p, bitRate: 9600 }
    expect(plan.contentOf(frames.map(framed))).toEqual({ ...common, tailMs: 50 })
    plan.change({ tailMs: 70 }, false)
    expect(plan.framesContent(frames)).toEqual({ ...common, tailMs: 70 })
  })

  it('a tone with its gap, and flags as the preamble of a plain frame that says how many', () => {
    const plan = planOf({ code: il2p })
    expect(plan.contentOf([tone(900, 'mark', 100)])).toEqual({
      ...{ kind: 'tone', tone: 'mark', durationMs: 900, gapMs: 100 },
    })
    const flags = plan.contentOf([tone(900.4, 'flags')])
    expect(flags).toMatchObject({ kind: 'frames', preambleMs: 900.4, tailMs: 50, code: undefined })
    expect(lines(flags)).toEqual([`${ownCall}>ID:>after 900 ms of flags`])
    expect(planOf({ code: fx25 }).contentOf([tone(900, 'flags')])).toMatchObject({ code: fx25 })
  })

  it('an identification: our call to everybody, and in Morse where that is wanted', () => {
    expect(lines(planOf().identification(false))).toEqual([`${ownCall}>ID:${ownCall}`])
    expect(planOf().identification(true)).toMatchObject({ morse: undefined, preambleMs: 300 })
    const morse = { wordsPerMinute: 20, toneHz: 800 }
    const identification = { ...transmitDefaults.identification, morse }
    expect(planOf({ identification, code: il2p, bitRate: 9600 }).identification(true)).toEqual({
      ...{ kind: 'frames', frames: [expect.any(Uint8Array)], preambleMs: 300, tailMs: 50 },
      ...{ code: undefined, bitRate: 9600, morse: { text: 'DE QQ1RP', ...morse } },
    })
    expect(planOf({ code: fx25 }).identification(true)).toMatchObject({ code: fx25 })
  })

  it('nothing that could be read where the call cannot be written', () => {
    const plan = planOf({ call: 'no call at all', enabled: false })
    expect(plan.identification(true)).toMatchObject({ frames: [octets(0)] })
    expect(plan.contentOf([tone(900, 'flags')])).toMatchObject({ frames: [octets(0)] })
    const identification = { ...transmitDefaults.identification, destination: 'no call at all' }
    const other = planOf({ identification, enabled: false })
    expect(other.identification(true)).toMatchObject({ frames: [octets(0)] })
    expect(other.contentOf([tone(900, 'flags')])).toMatchObject({ frames: [octets(0)] })
  })

  it('a frame identifies where its source is our call, with any SSID, and the code can be read by all', () => {
    const identifies = (from: string, change: Partial<ContentPlanOptions> = {}): unknown => {
      const content = planOf(change).frameContent(frame(from, 'x'))
      return content.ok && content.value.kind === 'frame' && content.value.identifies
    }
    expect([identifies(ownCall), identifies('QQ1RP'), identifies('QQ1RPX')]).toEqual([
      ...[true, true, false],
    ])
    expect([identifies(ownCall, { code: fx25 }), identifies(ownCall, { code: il2p })]).toEqual([
      ...[true, false],
    ])
    const wrong = planOf().frameContent(octets(3))
    expect(wrong).toEqual({ ok: false, reason: expect.stringMatching(/^not an AX\.25 frame: \S/) })
  })
})

describe('what is gathered into one transmission', () => {
  const { gather, weight } = planOf()
  const ids = (items: readonly Waiting[], msMax: (one: Waiting) => number): number =>
    gather(items, msMax).length

  it('is as many frames as fit, the first in any case', () => {
    // 415 ms besides the octets
    const items = [framed(octets(100)), framed(octets(100)), framed(octets(100))]
    expect([614, 615, 714, 715].map((msMax) => ids(items, () => msMax))).toEqual([1, 2, 2, 3])
    expect(ids(items, () => 0)).toBe(1)
    const { 1: second } = items
    expect(ids(items, (one) => (one === second ? 10_000 : 0))).toBe(2)
  })

  it('is a tone alone, and no tone with frames', () => {
    expect(ids([tone(100), framed(octets(1))], () => 8000)).toBe(1)
    expect(ids([framed(octets(1)), tone(100), framed(octets(1))], () => 8000)).toBe(1)
  })

  it('shares the airtime by octets, and a tone has all of its own', () => {
    expect([weight(framed(octets(17))), weight(tone(100))]).toEqual([17, 1])
  })
})

describe('what is too long', () => {
  it('for the time-out timer, with what the devices and the hang take', () => {
    const { tooLong } = planOf({ timeOutMs: 1000 })
    // 350 ms of flags, 65 ms of devices and hang
    expect(tooLong(framed(octets(585)).content)).toBeUndefined()
    expect(tooLong(framed(octets(586)).content)).toBe(
      'it alone would take 1001 ms, longer than the time-out timer (1000 ms)',
    )
    expect(tooLong(tone(935).content)).toBeUndefined()
    expect(tooLong(tone(936).content)).toMatch(/^it alone would take 1001 ms/)
    // the preamble of flags is their time, the frame behind them has 16 octets and a text of 22
    expect(tooLong(tone(847, 'flags').content)).toBeUndefined()
    expect(tooLong(tone(900, 'flags').content)).toMatch(/^it alone would take 1\d\d\d ms/)
  })

  it('for any duty limit, with the identification that follows it', () => {
    const limits = [
      { windowMs: 100_000, share: 1 },
      { windowMs: 100_000, share: 0.5 },
      { windowMs: 100_000, share: 0.02 },
    ]
    const { tooLong, reserveMs } = planOf({ dutyLimits: limits })
    const roomMs = 2000 - reserveMs() - 65
    expect(tooLong(tone(roomMs).content)).toBeUndefined()
    expect(tooLong(tone(roomMs + 1).content)).toBe(
      'it alone, with the identification after it, would take 2001 ms, more than the duty limit ever allows (2000 ms)',
    )
  })
})

it('a limit that allows all of its window is none', () => {
  const { tooLong } = planOf({ dutyLimits: [{ windowMs: 500, share: 1 }] })
  expect(tooLong(tone(5000).content)).toBeUndefined()
})

describe('the airtime of an identification', () => {
  // 350 ms of flags, 16 octets of header and 8 of text, 65 ms of devices and hang
  const onceMs = 350 + 16 + ownCall.length + 65

  it('may be 300 ms longer than it takes, up to what the limits allow', () => {
    expect(planOf().keyedMs(planOf().identification(true))).toBe(onceMs)
    expect(planOf().identificationMsMax()).toBe(onceMs + 300)
    expect(planOf({ timeOutMs: 600 }).identificationMsMax()).toBe(600)
    const dutyLimits = [{ windowMs: 1000, share: 0.5 }]
    expect(planOf({ dutyLimits }).identificationMsMax()).toBe(500)
  })

  it('is set aside once as it is, or twice at its longest where a tenth of the allowance holds both', () => {
    const reserveMs = (allowanceMs: number): number =>
      planOf({ dutyLimits: [{ windowMs: 100_000, share: allowanceMs / 100_000 }] }).reserveMs()
    const twiceMs = 2 * (onceMs + 300)
    expect(reserveMs(10 * twiceMs - 10)).toBe(onceMs)
    expect(reserveMs(10 * twiceMs + 10)).toBe(twiceMs)
    expect(planOf().reserveMs()).toBe(twiceMs)
  })

  it('that fits no limit is no matter where nothing can be sent', () => {
    expect(() => planOf({ timeOutMs: 300, call: 'N0CALL-10' })).not.toThrow()
    expect(() => planOf({ timeOutMs: 300, enabled: false })).not.toThrow()
  })

  it('that fits no limit ends the start with both figures', () => {
    expect(() => planOf({ timeOutMs: onceMs })).not.toThrow()
    expect(() => planOf({ timeOutMs: onceMs - 1 })).toThrow(
      new RangeError(
        `an identification would take ${onceMs} ms, more than the limits allow (${onceMs - 1} ms)`,
      ),
    )
  })
})

describe('settings', () => {
  it.each<[Partial<ChannelAccess>, string]>([
    [{ keyDelayMs: 2550 }, 'keyDelayMs = 2550'],
    [{ keyDelayMs: 0, tailMs: 2550 }, 'keyDelayMs = 0, tailMs = 2550'],
    [{ slotTimeMs: 2550, persistence: 255 }, 'slotTimeMs = 2550, persistence = 255'],
    [{ persistence: 0, fullDuplex: true }, 'persistence = 0, fullDuplex = true'],
    [{ keyDelayMs: 2551 }, 'not changed: keyDelayMs is out of range: 2551'],
    [{ tailMs: -1 }, 'not changed: tailMs is out of range: -1'],
    [{ slotTimeMs: Number.NaN }, 'not changed: slotTimeMs is out of range: NaN'],
    [{ persistence: 256 }, 'not changed: persistence is out of range: 256'],
    [{ persistence: -1, tailMs: 60 }, 'not changed: persistence is out of range: -1'],
  ])('%o: %s', (change, told) => {
    const plan = planOf()
    expect(plan.change(change, false)).toBe(told)
    expect(plan.access()).toEqual(told.startsWith('not') ? access : { ...access, ...change })
  })

  it('with which no identification would fit are not taken', () => {
    const plan = planOf({ timeOutMs: 1000 })
    expect(plan.change({ keyDelayMs: 2000 }, false)).toBe(
      'not changed: an identification would take 2139 ms, more than the limits allow (1000 ms)',
    )
    expect(plan.access()).toEqual(access)
  })
})

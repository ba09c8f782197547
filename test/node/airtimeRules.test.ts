import { describe, expect, it } from 'vitest'
import { followingMs, hasReserve, mayGo, type RadioLoad } from '../../src/node/airtimeRules.js'
import type { QueuedFrame } from '../../src/node/sendQueue.js'
import { type Airtime, priorities } from '../../src/radio/port.js'
import { airtimeWith } from './handRadio.js'

/** 100 octets take 1,000 ms, and a transmission 350 ms besides. */
const frame = (given: Partial<QueuedFrame> = {}): QueuedFrame => ({
  ...{ id: 'f', priority: 'answer', turn: 0, sinceMs: 100_000, notAfterMs: 900_000 },
  ...{ octets: new Uint8Array(100), followingOctets: 0, ...given },
})

const nothingToDo: RadioLoad = {
  ...{ nowMs: 100_000, openMs: 0, acknowledgementShare: 0, isUrgent: false },
}

/** A duty limit of 60 s, of which so much is free for everything; more at minute 3. */
const limited = (freeMs: number): Partial<Airtime> => ({
  ...{ allowanceMs: 60_000, freeMs: () => freeMs, earliestMs: () => 180_000 },
})

const verdict = (
  given: Partial<QueuedFrame>,
  limits: Partial<Airtime> = {},
  load: Partial<RadioLoad> = {},
) => mayGo(frame(given), airtimeWith(limits), { ...nothingToDo, ...load })

describe('what goes before all else', () => {
  it('is the identification, acknowledgements and calls for help', () => {
    expect(priorities.filter(hasReserve)).toEqual([
      'identification',
      'acknowledgement',
      'emergency',
    ])
  })

  it.each(['identification', 'acknowledgement', 'emergency'] as const)(
    '%s goes at once, though the radio has much to do',
    (priority) => {
      expect(verdict({ priority }, {}, { openMs: 60_000 })).toEqual({ kind: 'now' })
    },
  )

  it('waits 6 s for others where less than two frames of an answer are free', () => {
    const priority = 'acknowledgement'
    const waits = { kind: 'with others', untilMs: 106_000 }
    expect(verdict({ priority }, limited(1_999))).toEqual(waits)
    expect(verdict({ priority }, limited(2_000))).toEqual({ kind: 'now' })
    expect(verdict({ priority }, limited(0), { nowMs: 105_999 })).toEqual(waits)
    expect(verdict({ priority }, limited(0), { nowMs: 106_000 })).toEqual({ kind: 'now' })
  })

  it('does not wait where the radio has something anyway, nor while somebody calls for help', () => {
    const priority = 'acknowledgement'
    expect(verdict({ priority }, limited(0), { openMs: 1 })).toEqual({ kind: 'now' })
    expect(verdict({ priority }, limited(0), { isUrgent: true })).toEqual({ kind: 'now' })
  })

  it('is short of airtime by what is free for answers, beyond what is kept for acknowledgements', () => {
    const freeFor = (answerMs: number): Partial<Airtime> => ({
      ...limited(0),
      freeMs: (priority) => (priority === 'answer' ? answerMs : 50_000),
    })
    // a tenth of the 80 s until minute 3: 8 s are kept
    const load = { acknowledgementShare: 0.1 }
    const priority = 'acknowledgement'
    expect(verdict({ priority }, freeFor(9_999), load).kind).toBe('with others')
    expect(verdict({ priority }, freeFor(10_000), load).kind).toBe('now')
    // what goes on with something begun needs no reserve
    expect(verdict({ priority, turn: -1 }, freeFor(2_000), load).kind).toBe('now')
    expect(verdict({ priority, turn: 0 }, freeFor(2_000), load).kind).toBe('with others')
  })
})

describe('what waits for others', () => {
  it('is what does not fit into 6 s with what the radio has', () => {
    expect(verdict({}, {}, { openMs: 4_650 })).toEqual({ kind: 'now' })
    expect(verdict({}, {}, { openMs: 4_651 })).toEqual({ kind: 'after others' })
  })

  it('is nothing where the radio has nothing, however long the frame is', () => {
    expect(verdict({ octets: new Uint8Array(1_000) })).toEqual({ kind: 'now' })
  })
})

describe('what waits for airtime', () => {
  it('is an answer for which too little is free, by the moment at which that is there', () => {
    const asked: [number, string][] = []
    const earliestMs: Airtime['earliestMs'] = (neededMs, priority) => {
      asked.push([neededMs, priority])
      return 123_456
    }
    expect(verdict({}, limited(1_350))).toEqual({ kind: 'now' })
    expect(verdict({}, { ...limited(1_349), earliestMs })).toEqual({
      ...{ kind: 'with airtime', untilMs: 123_456 },
    })
    expect(asked).toEqual([[1_350, 'answer']])
  })

  it('needs what the radio has, and what follows it without waiting, too', () => {
    const load = { openMs: 2_000 }
    // 50 octets behind 100: 500 ms
    const answer = { followingOctets: 50 }
    expect(verdict(answer, limited(3_850), load).kind).toBe('now')
    expect(verdict(answer, limited(3_849), load).kind).toBe('with airtime')
  })

  it.each(['repeat', 'refusal', 'digipeat', 'mailbox', 'client', 'beacon'] as const)(
    '%s leaves 15 % of the limit to first copies',
    (priority) => {
      expect(verdict({ priority }, limited(10_350)).kind).toBe('now')
      expect(verdict({ priority }, limited(10_349)).kind).toBe('with airtime')
    },
  )

  it('is looked at by its own priority', () => {
    const freeMs: Airtime['freeMs'] = (priority) => (priority === 'beacon' ? 0 : 60_000)
    expect(verdict({ priority: 'beacon' }, { ...limited(0), freeMs }).kind).toBe('with airtime')
    expect(verdict({ priority: 'repeat' }, { ...limited(0), freeMs }).kind).toBe('now')
  })

  it('goes to the radio where no wait would do: that judges', () => {
    const never = { ...limited(0), earliestMs: () => Number.POSITIVE_INFINITY }
    expect(verdict({}, never)).toEqual({ kind: 'now' })
  })

  it('holds nothing up without a limit', () => {
    const load = { acknowledgementShare: 0.5 }
    expect(verdict({ priority: 'beacon' }, {}, load)).toEqual({ kind: 'now' })
    expect(verdict({}, {}, load)).toEqual({ kind: 'now' })
  })
})

describe('what answers leave to acknowledgements', () => {
  it('is what those took lately, until airtime comes back', () => {
    const asked: [number, string][] = []
    const limits: Partial<Airtime> = {
      ...{ allowanceMs: 60_000, freeMs: (of) => (of === 'acknowledgement' ? 7_000 : 5_349) },
      earliestMs(neededMs, priority) {
        asked.push([neededMs, priority])
        return 140_000
      },
    }
    // a tenth of 40 s: 4 s; and 1,350 ms for the frame
    const load = { acknowledgementShare: 0.1 }
    expect(verdict({}, limits, load)).toEqual({ kind: 'with airtime', untilMs: 105_000 })
    // airtime has come back when 3 % of the limit are more
    expect(asked).toEqual([
      [8_800, 'acknowledgement'],
      [5_350, 'answer'],
    ])
    expect(verdict({}, { ...limits, freeMs: () => 5_350 }, load).kind).toBe('now')
  })

  it('is at most a quarter of the limit', () => {
    const load = { acknowledgementShare: 1 }
    expect(verdict({}, limited(16_350), load).kind).toBe('now')
    expect(verdict({}, limited(16_349), load).kind).toBe('with airtime')
  })

  it('is looked at again after 5 s, or sooner where airtime comes sooner, even where none would ever do', () => {
    const load = { acknowledgementShare: 0.1 }
    const until = (earliestMs: number) => {
      const ms = (_: number, priority: string) => (priority === 'answer' ? earliestMs : 180_000)
      return verdict({}, { ...limited(0), earliestMs: ms }, load)
    }
    expect(until(104_999)).toEqual({ kind: 'with airtime', untilMs: 104_999 })
    expect(until(170_000)).toEqual({ kind: 'with airtime', untilMs: 105_000 })
    expect(until(Infinity)).toEqual({ kind: 'with airtime', untilMs: 105_000 })
  })

  it('is nothing for who goes on with something begun', () => {
    const load = { acknowledgementShare: 1 }
    expect(verdict({ turn: -1 }, limited(1_350), load).kind).toBe('now')
  })
})

describe('what follows a frame', () => {
  it('takes as long for each octet as the frame itself, without what a transmission takes besides', () => {
    expect(followingMs(frame({ followingOctets: 30 }), airtimeWith())).toBe(300)
  })

  it('takes nothing where nothing follows, even behind a frame without octets', () => {
    expect(followingMs(frame({ octets: new Uint8Array() }), airtimeWith())).toBe(0)
  })
})

import { describe, expect, it } from 'vitest'
import { decodeFrame } from '../../src/ax25/frame.js'
import { formatLine } from '../../src/ax25/line.js'
import type { Priority } from '../../src/radio/port.js'
import { callSignProblem } from '../../src/regulations/callSign.js'
import { type ControllerBench, controllerBench } from './controllerBench.js'
import { frame, ownCall, transmitDefaults } from './fixtures.js'

const own = (text: string): Uint8Array => frame(ownCall, text)
const foreign = (text: string): Uint8Array => frame('QQ9ZZ', text)

/** What each transmission carried, as the texts of its frames. */
const onAir = ({ sent }: ControllerBench): string[][] =>
  sent.map(({ content }) =>
    content.kind === 'tone'
      ? [content.tone]
      : content.frames.map((octets) => {
          const decoded = decodeFrame(octets)
          return decoded.ok ? formatLine(decoded.frame).split(':').slice(1).join(':') : '?'
        }),
  )
const fates = ({ outcomes }: ControllerBench): string[] =>
  outcomes.map(({ id, kind }) => `${id} ${kind}`)
const reasonOf = ({ outcomes }: ControllerBench, id: string): string => {
  const outcome = outcomes.findLast((one) => one.id === id)
  return outcome !== undefined && 'reason' in outcome ? outcome.reason : ''
}

describe('channel access', () => {
  it.each([0, 10, 2550])(
    'with a SlotTime of %i ms a lost draw is followed by another',
    (slotTimeMs) => {
      const draws = [0.9, 0.9, 0.1]
      const random = (): number => draws.shift() ?? 0.1
      const access = { ...transmitDefaults.access, slotTimeMs, persistence: 63 }
      const bench = controllerBench({ access }, undefined, random)
      bench.feed({ kind: 'channel', busy: false })
      bench.send('a1', own('answer'), 'answer')
      bench.advanceTo(10_000)
      expect(fates(bench)).toEqual(['a1 sent'])
      // two slots, each of one unit of the paper at least
      expect(bench.sent[0]!.fromMs).toBe(2 * Math.max(10, slotTimeMs))
    },
  )
})

describe('identification and duty limit', () => {
  const dutyLimits = [{ windowMs: 600_000, share: 0.05 }]
  const identified = ({ events }: ControllerBench): number =>
    events.filter(({ kind }) => kind === 'identified').length

  it('an identification that hangs is cut, and the next goes out although all else must wait', () => {
    const identification = { intervalMs: 540_000, quietMs: 540_000, destination: 'ID' }
    const bench = controllerBench({ dutyLimits, identification })
    bench.feed({ kind: 'channel', busy: false })
    // a client uses up all that it may, and owes our call
    for (let index = 0; index < 60; index++)
      bench.send(`f${index}`, foreign('x'.repeat(200)), 'client')
    bench.advanceTo(500_000)
    expect(reasonOf(bench, 'f59')).toBe('the duty limit is reached')
    bench.hangs = true
    const before = bench.sent.length
    while (bench.sent.length === before) bench.advanceTo(bench.nowMs + 100)
    bench.hangs = false
    bench.advanceTo(570_000)
    const [hung, next] = bench.sent.slice(before)
    expect(hung!.toMs - hung!.fromMs).toBeLessThan(2000)
    expect(next!.toMs).toBeLessThan(570_000)
    expect(identified(bench)).toBe(1)
    expect(reasonOf(bench, 'f59')).toBe('the duty limit is reached')
  })
})

describe('queue', () => {
  it('sends what is more urgent first, and equals in their order, in one transmission', () => {
    const bench = controllerBench()
    bench.feed({ kind: 'channel', busy: true })
    bench.send('b1', own('beacon'), 'beacon')
    bench.send('a1', own('answer 1'), 'answer')
    bench.send('c1', own('client'), 'client')
    bench.send('k1', own('acknowledgement'), 'acknowledgement')
    bench.send('a2', own('answer 2'), 'answer')
    bench.send('m1', own('mail'), 'mailbox')
    bench.advanceTo(1000)
    bench.feed({ kind: 'channel', busy: false })
    bench.advanceTo(10_000)
    expect(onAir(bench)).toEqual([
      ['acknowledgement', 'answer 1', 'answer 2', 'mail', 'client', 'beacon'],
    ])
    expect(fates(bench)).toEqual([
      ...['k1 sent', 'a1 sent', 'a2 sent', 'm1 sent', 'c1 sent', 'b1 sent'],
    ])
  })

  it('serves emergencies right after acknowledgements, and first copies before repeats and refusals', () => {
    const bench = controllerBench()
    bench.feed({ kind: 'channel', busy: true })
    for (const priority of ['mailbox', 'refusal', 'repeat', 'answer', 'emergency'] as const)
      bench.send(priority, own(priority), priority)
    bench.send('acknowledgement', own('acknowledgement'), 'acknowledgement')
    bench.feed({ kind: 'channel', busy: false })
    bench.advanceTo(10_000)
    const inOrder = ['acknowledgement', 'emergency', 'answer', 'repeat', 'refusal', 'mailbox']
    expect(onAir(bench)).toEqual([inOrder])
  })

  it('lets a request be taken back until it is on the air', () => {
    const bench = controllerBench()
    bench.feed({ kind: 'channel', busy: true })
    bench.send('first', own('first'))
    bench.send('second', own('second'))
    bench.feed({ kind: 'withdraw', id: 'second' })
    expect(reasonOf(bench, 'second')).toBe('it was taken back')
    bench.feed({ kind: 'channel', busy: false })
    bench.advanceTo(200)
    bench.feed({ kind: 'withdraw', id: 'first' })
    bench.advanceTo(10_000)
    bench.feed({ kind: 'withdraw', id: 'first' })
    expect(onAir(bench)).toEqual([['first']])
    expect(fates(bench)).toEqual(['second refused', 'first sent'])
  })

  it('is parted into transmissions that each fit the time-out timer', () => {
    const bench = controllerBench({ timeOutMs: 4000 })
    bench.feed({ kind: 'channel', busy: true })
    for (let index = 0; index < 7; index++) bench.send(`r${index}`, own(`${'x'.repeat(150)}`))
    bench.feed({ kind: 'channel', busy: false })
    bench.advanceTo(60_000)
    // 1.1 s each, 0.35 s for preamble and tail
    expect(onAir(bench).map((texts) => texts.length)).toEqual([3, 3, 1])
    for (const { fromMs, toMs } of bench.sent) expect(toMs - fromMs).toBeLessThanOrEqual(4000)
  })

  it('full: refuses one more, or the least urgent when the new one is more urgent', () => {
    const bench = controllerBench({ queueMax: 2 })
    bench.feed({ kind: 'channel', busy: true })
    bench.send('a', own('a'), 'answer')
    bench.send('b', own('b'), 'beacon')
    bench.send('c', own('c'), 'beacon')
    expect(reasonOf(bench, 'c')).toBe('the queue is full (2 waiting)')
    bench.send('d', own('d'), 'answer')
    expect(reasonOf(bench, 'b')).toBe('the queue is full (2 waiting), and a more urgent frame came')
    expect(fates(bench)).toEqual(['c refused', 'b refused'])
  })

  it('gives up what is not keyed in time, and says what it waited for', () => {
    const bench = controllerBench()
    bench.feed({ kind: 'channel', busy: true })
    bench.send('busy', own('x'), 'answer', 1000)
    bench.advanceTo(2000)
    expect(bench.outcomes).toEqual([
      { id: 'busy', kind: 'expired', atMs: 1000, reason: 'the channel was busy' },
    ])
    bench.feed({ kind: 'hold', source: 'operator', reason: 'antenna work' })
    bench.send('held', own('x'), 'answer', 3000)
    bench.send('late', own('x'), 'answer', 1500)
    bench.advanceTo(4000)
    expect(reasonOf(bench, 'held')).toBe('held by operator: antenna work')
    expect(fates(bench)).toEqual(['busy expired', 'held held', 'late expired', 'held expired'])
  })

  it('refuses a frame that alone is longer than the time-out timer, and one without addresses', () => {
    const bench = controllerBench({ timeOutMs: 2000 })
    bench.send('long', own('x'.repeat(256)))
    expect(reasonOf(bench, 'long')).toMatch(/^it alone would take 2\d\d\d ms, longer than/)
    bench.send('junk', Uint8Array.of(1, 2, 3))
    expect(reasonOf(bench, 'junk')).toMatch(/^not an AX.25 frame/)
    expect(bench.sent).toEqual([])
  })
})

describe('reserve', () => {
  // 20 s in a minute; the reserve is a quarter of that.
  const limits = { dutyLimits: [{ windowMs: 60_000, share: 1 / 3 }], reserveShare: 0.25 }
  const flood = (bench: ControllerBench, priority: Priority): void => {
    for (let index = 0; index < 60; index++)
      bench.send(`${priority} ${index}`, own('x'.repeat(60)), priority)
    bench.advanceTo(bench.nowMs + 25_000)
  }
  const onMs = ({ sent }: ControllerBench): number =>
    sent.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0)

  it.each<Priority>(['answer', 'repeat', 'refusal', 'mailbox', 'client', 'beacon'])(
    'is left by %s frames, and acknowledgements go out of it',
    (priority) => {
      const bench = controllerBench(limits)
      flood(bench, priority)
      const { keyedMs, freeMs } = bench.controller.airtime(bench.nowMs)
      // all but a frame's worth of what is not set aside, for these or for two identifications
      expect(onMs(bench)).toBeLessThanOrEqual(15_000)
      expect(onMs(bench)).toBeGreaterThan(15_000 - 4 * keyedMs([own('x'.repeat(60))]))
      expect(freeMs('acknowledgement') - freeMs(priority)).toBeCloseTo(5_000, -2)
      flood(bench, 'acknowledgement')
      expect(bench.sent.length).toBeGreaterThan(2)
      expect(onMs(bench)).toBeGreaterThan(17_000)
      expect(onMs(bench)).toBeLessThanOrEqual(20_000)
    },
  )

  it('never keeps a frame back for good that the limit allows', () => {
    const bench = controllerBench(limits)
    const longest = own('x'.repeat(256))
    bench.send('long', longest)
    bench.advanceTo(60_000)
    expect(fates(bench)).toEqual(['long sent'])
    const tight = controllerBench({
      dutyLimits: [{ windowMs: 60_000, share: 0.05 }],
      reserveShare: 0.5,
    })
    tight.send('long', longest)
    tight.advanceTo(60_000)
    expect(fates(tight)).toEqual(['long sent'])
  })

  it('tells how long a cut frame was on the air, and nothing where none was', () => {
    const bench = controllerBench({ queueMax: 1 })
    bench.send('cut', own('x'.repeat(200)))
    bench.advanceTo(1_000)
    bench.feed({ kind: 'cut', reason: 'a test' })
    bench.feed({ kind: 'channel', busy: true })
    bench.advanceTo(1_500)
    bench.send('waits', own('x'))
    bench.send('full', own('x'))
    bench.advanceTo(2_000)
    bench.advanceTo(3_000)
    const airtimes = bench.outcomes.map((outcome) => 'airtimeMs' in outcome && outcome.airtimeMs)
    expect(fates(bench)).toEqual(['cut refused', 'full refused'])
    expect(airtimes[0]).toBeGreaterThan(800)
    expect(airtimes[1]).toBeUndefined()
  })
})

describe('never keyed', () => {
  it.each([
    'N0CALL',
    'N0CALL-10',
    'NOCALL',
    'MYCALL-1',
    '',
    'TEST',
    'ABC',
    '12345',
    'qq1rp',
    'QQ1RP-16',
  ])('under "%s"', (call) => {
    expect(callSignProblem(call)).toBeDefined()
    const bench = controllerBench({ call })
    bench.send('a', own('x'))
    bench.advanceTo(60_000)
    expect(bench.sent).toEqual([])
    expect(fates(bench)).toEqual(['a refused'])
  })

  it.each(['QQ1RP-10', 'QQ1RP', 'Q1A', 'QQ9ZZZ', '3Q0Q', 'Q21RP'])('but under "%s"', (call) => {
    expect(callSignProblem(call)).toBeUndefined()
  })

  it('before it is enabled', () => {
    const bench = controllerBench({ enabled: false })
    bench.send('a', own('x'))
    expect(reasonOf(bench, 'a')).toBe('sending is not enabled (transmit.enabled)')
    expect(bench.controller.state(0).transmitBlockedBy).toBe(reasonOf(bench, 'a'))
  })
})

describe('duty limit', () => {
  const dutyLimits = [{ windowMs: 60_000, share: 0.1 }]

  it('holds, says until when, and goes on then', () => {
    const bench = controllerBench({ dutyLimits })
    for (let index = 0; index < 3; index++) bench.send(`r${index}`, own('x'.repeat(250)))
    bench.advanceTo(30_000)
    // 6 s are allowed: two of 2 s each with the 0.6 s set aside for our call, and the third must wait
    const held = bench.outcomes.find(({ kind }) => kind === 'held')
    expect(held).toMatchObject({ id: 'r2', reason: 'the duty limit is reached' })
    const untilMs = held?.kind === 'held' ? held.untilMs! : Number.NaN
    expect(untilMs).toBeGreaterThan(30_000)
    expect(untilMs).toBeLessThan(60_000)
    expect(bench.controller.state(30_000).transmitBlockedBy).toBe('the duty limit is reached')
    bench.advanceTo(untilMs - 1)
    expect(bench.sent.filter(({ toMs }) => Number.isFinite(toMs))).toHaveLength(2)
    bench.advanceTo(untilMs + 3000)
    expect(fates(bench)).toEqual(['r0 sent', 'r1 sent', 'r2 held', 'r2 sent'])
  })

  it('refuses what it could never allow', () => {
    const bench = controllerBench({ dutyLimits: [{ windowMs: 20_000, share: 0.1 }] })
    bench.send('a', own('x'.repeat(250)))
    expect(reasonOf(bench, 'a')).toMatch(/more than the duty limit ever allows \(2000 ms\)$/)
  })

  it('goes on counting after a restart', () => {
    const past = { spans: [{ fromMs: -5600, toMs: -100 }] }
    const bench = controllerBench({ dutyLimits }, past)
    bench.send('a', own('x'))
    expect(fates(bench)).toEqual(['a held'])
    expect(bench.controller.state(0).dutyUsed).toBeCloseTo(5500 / 6000, 6)
  })

  it('cuts audio that hangs before it breaks a limit', () => {
    const bench = controllerBench({ dutyLimits: [{ windowMs: 60_000, share: 0.05 }] })
    bench.hangs = true
    bench.send('a', own('x'))
    bench.advanceTo(10_000)
    const [span] = bench.sent
    expect(span!.toMs - span!.fromMs).toBeLessThan(3000)
    expect(reasonOf(bench, 'a')).toMatch(/^cut after \d+ ms: the duty limit ended it$/)
  })
})

describe('time-out timer and key line', () => {
  it('cuts audio that hangs at 8 s', () => {
    const bench = controllerBench()
    bench.hangs = true
    bench.send('a', own('x'))
    bench.advanceTo(20_000)
    expect(bench.sent).toHaveLength(1)
    expect(bench.sent[0]!.toMs - bench.sent[0]!.fromMs).toBe(8000)
    expect(reasonOf(bench, 'a')).toBe('cut after 8000 ms: the time-out timer (8000 ms) ended it')
  })

  it('gives up a line that does not come on', () => {
    const bench = controllerBench()
    bench.deadLine = true
    bench.send('a', own('x'))
    bench.advanceTo(5000)
    expect(reasonOf(bench, 'a')).toBe('cut after 1000 ms: the key line did not come on')
  })

  it('takes a line that went off by itself as the end, and silences the audio', () => {
    const bench = controllerBench()
    bench.send('a', own('x'))
    bench.advanceTo(100)
    const actions = bench.feed({ kind: 'unkeyed', atMs: 100, reason: 'no sign of life' })
    expect(actions).toContainEqual({ kind: 'unkey', cut: true })
    expect(reasonOf(bench, 'a')).toBe('cut after 100 ms: no sign of life')
  })

  it('asks again when the line does not answer', () => {
    const bench = controllerBench()
    bench.hangs = true
    bench.send('a', own('x'))
    bench.advanceTo(10)
    const { controller } = bench
    const unkeys = (atMs: number): number =>
      controller.handle({ kind: 'time' }, atMs).filter(({ kind }) => kind === 'unkey').length
    // from here on the line's answers are left out
    expect(controller.handle({ kind: 'audioEnded' }, 1000)).toEqual([{ kind: 'unkey', cut: false }])
    expect([1100, 1250, 1500, 1750, 2749, 2750].map(unkeys)).toEqual([0, 1, 0, 1, 0, 1])
    expect(controller.state(2750).keyed).toBe(true)
  })
})

describe('hold', () => {
  it('cuts what runs, keeps what waits, and lets go when all who held have released', () => {
    const bench = controllerBench()
    bench.send('a', own('x'.repeat(200)))
    bench.advanceTo(500)
    bench.send('b', own('y'))
    bench.feed({ kind: 'hold', source: 'operator', reason: 'by hand' })
    bench.feed({ kind: 'hold', source: 'file', reason: 'there' })
    expect(bench.sent[0]!.toMs).toBe(500)
    bench.advanceTo(1000)
    bench.feed({ kind: 'release', source: 'operator' })
    bench.advanceTo(5000)
    expect(bench.sent).toHaveLength(1)
    bench.feed({ kind: 'release', source: 'file' })
    bench.advanceTo(10_000)
    expect(fates(bench)).toEqual(['a refused', 'b held', 'b held', 'b sent'])
    expect(reasonOf(bench, 'a')).toBe('cut after 500 ms: held by operator: by hand')
  })
})

describe('settings at run time', () => {
  it('change the next transmission', () => {
    const bench = controllerBench()
    bench.feed({ kind: 'access', change: { keyDelayMs: 1000, tailMs: 0 } })
    bench.send('a', own('x'))
    bench.advanceTo(5000)
    expect(bench.sent[0]!.content).toMatchObject({ preambleMs: 1000, tailMs: 0 })
    expect(bench.events).toContainEqual(
      expect.objectContaining({ kind: 'settings', reason: 'keyDelayMs = 1000, tailMs = 0' }),
    )
  })

  it('are not taken when no identification would fit any more', () => {
    const bench = controllerBench({ timeOutMs: 2000 })
    bench.feed({ kind: 'access', change: { keyDelayMs: 2550 } })
    expect(bench.controller.access()).toEqual(transmitDefaults.access)
    expect(bench.events.at(-1)!.reason).toMatch(/^not changed: an identification would take/)
  })
})

describe('test tones', () => {
  it('pass the queue and the limits, alone, and our call follows', () => {
    const bench = controllerBench()
    bench.feed({
      kind: 'tone',
      request: { id: 't', tone: 'two-tone', durationMs: 3000, notAfterMs: Infinity },
    })
    bench.send('a', foreign('x'), 'client')
    bench.feed({
      kind: 'tone',
      request: { id: 'long', tone: 'mark', durationMs: 9000, notAfterMs: Infinity },
    })
    bench.advanceTo(60_000)
    expect(onAir(bench)).toEqual([['two-tone'], ['x'], [ownCall]])
    expect(fates(bench)).toEqual(['long refused', 't sent', 'a sent'])
  })

  it('flags end with a frame of ours: nothing more is owed', () => {
    const bench = controllerBench()
    bench.feed({
      kind: 'tone',
      request: { id: 't', tone: 'flags', durationMs: 1000, notAfterMs: Infinity },
    })
    bench.advanceTo(60_000)
    expect(onAir(bench)).toEqual([['>after 1000 ms of flags']])
    expect(bench.sent[0]!.content).toMatchObject({ preambleMs: 1000 })
  })
})

describe('the end', () => {
  it('refuses what waits, lets what runs end, and sends our call where it is owed', () => {
    const bench = controllerBench()
    bench.send('a', foreign('x'), 'client')
    bench.advanceTo(100)
    bench.send('b', foreign('y'), 'client')
    bench.feed({ kind: 'end', reason: 'closing' })
    expect(bench.controller.state(bench.nowMs).idle).toBe(false)
    bench.advanceTo(5000)
    expect(onAir(bench)).toEqual([['x'], [ownCall]])
    expect(fates(bench)).toEqual(['b refused', 'a sent'])
    expect(bench.controller.state(bench.nowMs).idle).toBe(true)
    bench.send('c', own('z'))
    expect(reasonOf(bench, 'c')).toBe('closing')
  })
})

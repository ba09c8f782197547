import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import { decodeFrame, encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import type { EmergencyReport } from '../../src/node/emergencyMarks.js'
import { createNode } from '../../src/node/node.js'
import type { HeardFrame, Port } from '../../src/radio/port.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { helpService } from '../../src/services/help.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { createChannel } from '../../src/simulation/channel.js'
import { simulatedRadio } from '../../src/simulation/simulatedRadio.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore, type Store } from '../../src/store/store.js'
import { echoService, type TestNode, testNode } from './testNode.js'

const reply = 'Heard. This station is unattended: call for help by voice too.'
const node = (options: Parameters<typeof testNode>[0] = {}): TestNode & Reports => {
  const reports: EmergencyReport[] = []
  const services = [echoService, helpService(), leaveService, collectService]
  const made = testNode({ services, onEmergency: (report) => reports.push(report), ...options })
  return { ...made, reports }
}
interface Reports {
  readonly reports: EmergencyReport[]
}

const marksOf = ({ events }: { events: readonly NodeEvent[] }) =>
  events.filter(({ kind }) => kind === 'emergency')
const prioritiesOf = ({ port }: TestNode) => port.sent.map(({ request }) => request.priority)

describe('a call for help as a message', () => {
  it('is marked, told, acknowledged and answered at once with the words of the operator', async () => {
    const hut = node()
    hut.ask('Q1ABC-7', 'SOS leg broken{12')
    await hut.wait(5)
    expect(marksOf(hut)).toMatchObject([
      { station: 'Q1ABC-7', text: expect.stringContaining('SOS leg broken') },
    ])
    expect(hut.reports).toMatchObject([{ station: 'Q1ABC-7', sign: 'sos', exercise: false }])
    expect(hut.sentTexts()).toEqual([
      ':Q1ABC-7  :ack12',
      expect.stringMatching(`:Q1ABC-7  :${reply}\\{`),
    ])
    expect(prioritiesOf(hut)).toEqual(['acknowledgement', 'emergency'])
  })

  it('is on the disk before half a minute has passed, and after a restart the station is not answered anew', async () => {
    const clock = virtualClock()
    const store = openStore({ file: ':memory:', clock })
    const first = node({ clock, store })
    first.ask('Q1ABC-7', 'sos{1')
    expect(store.state().counters.batchCount).toBeGreaterThan(0)
    await first.wait(5)
    first.hear('Q1ABC-7>APZ001::N0DE-10  :ackZZ')
    first.node.stop()
    const second = node({ clock, store, seed: 2 })
    await second.wait(200)
    second.sentTexts()
    second.ask('Q1ABC-7', 'sos once more{2')
    await second.wait(200)
    expect(second.sentTexts()).toEqual([':Q1ABC-7  :ack2'])
    expect(marksOf(second)).toHaveLength(1)
  })

  // Found by the campaign, seed 5019.
  it('one that was answered in its turn is not answered anew after a restart either', async () => {
    const clock = virtualClock()
    const store = openStore({ file: ':memory:', clock })
    const first = node({ clock, store })
    // more than are answered at once
    for (let count = 0; count < 11; count++) first.ask(`Q1AB${count}`, 'sos{1')
    await first.wait(60)
    for (let count = 0; count < 11; count++)
      for (let number = 100; number < 120; number++)
        first.hear(`Q1AB${count}>APZ001::N0DE-10  :ack${number}`)
    first.node.stop()
    const second = node({ clock, store, seed: 2 })
    second.ask('Q1AB10', 'sos{2')
    await second.wait(30)
    expect(second.sentTexts()).toEqual([':Q1AB10   :ack2'])
  })

  // Found by the campaign, seeds 401 and 3012: it was told 'rej'.
  it('one that goes on under the same number is never rejected, and after ten minutes answered anew', async () => {
    const hut = node()
    hut.ask('Q1ABC-7', 'sos{1')
    await hut.wait(5)
    hut.hear('Q1ABC-7>APZ001::N0DE-10  :ack100')
    await hut.wait(295)
    hut.sentTexts()
    hut.ask('Q1ABC-7', 'sos still here{2')
    await hut.wait(290)
    hut.ask('Q1ABC-7', 'sos still here{2')
    await hut.wait(60)
    expect(hut.sentTexts()).toEqual([':Q1ABC-7  :ack2', ':Q1ABC-7  :ack2'])
    hut.ask('Q1ABC-7', 'sos still here{2')
    await hut.wait(5)
    expect(hut.sentTexts()).toEqual([
      ':Q1ABC-7  :ack2',
      expect.stringMatching(`:Q1ABC-7  :${reply}\\{`),
    ])
    hut.ask('Q1ABC-7', 'sos still here{2')
    await hut.wait(5)
    expect(hut.sentTexts().filter((text) => text.includes('Heard.'))).toEqual([])
  })

  it('another one of the station within ten minutes is acknowledged only; after that it is a new one', async () => {
    const hut = node()
    hut.ask('Q1ABC-7', 'sos')
    await hut.wait(60)
    hut.ask('Q1ABC-7', 'mayday{5')
    await hut.wait(60)
    expect(hut.sentTexts()).toEqual([`:Q1ABC-7  :${reply}`, ':Q1ABC-7  :ack5'])
    expect(hut.reports).toHaveLength(1)
    expect(marksOf(hut).map(({ reason }) => reason)).toEqual([
      undefined,
      'called before within ten minutes',
    ])
    await hut.wait(540)
    hut.ask('Q1ABC-7', 'sos again')
    await hut.wait(60)
    expect(hut.sentTexts()).toEqual([`:Q1ABC-7  :${reply}`])
    expect(hut.reports).toHaveLength(2)
  })

  it('waits for no other message to its station, and for no limit of questions', async () => {
    const hut = node({ options: { limits: { perStation: 1 } } })
    hut.ask('Q1ABC-7', 'echo one/two/three{1')
    hut.ask('Q1ABC-7', 'echo four{2')
    await hut.wait(3)
    hut.sentTexts()
    hut.ask('Q1ABC-7', 'sos{3')
    await hut.wait(3)
    expect(hut.sentTexts().slice(0, 2)).toEqual([':Q1ABC-7  :ack3', expect.stringContaining(reply)])
  })

  it('what a service understands as well is done as well', async () => {
    const hut = node()
    hut.ask('Q1ABC-7', 'leave Q2XYZ EMERGENCY at the hut{1')
    await hut.wait(30)
    const [acknowledgement, first, second] = hut.sentTexts()
    expect(acknowledgement).toBe(':Q1ABC-7  :ack1')
    expect(first).toContain(reply)
    expect(second).toContain('Q2XYZ')
    expect(hut.store.mailbox.openCount).toBe(1)
  })

  it('what says that it is an exercise is marked so', async () => {
    const hut = node()
    hut.ask('Q1ABC-7', 'SOS EXERCISE leg broken')
    expect(marksOf(hut)).toMatchObject([{ reason: 'says that it is an exercise' }])
    expect(hut.reports).toMatchObject([{ exercise: true }])
  })

  it('the words of the configuration count, and its reply goes out', async () => {
    const emergency = { words: ['hjälp'], exerciseWords: [], reply: 'Nobody is here.' }
    const hut = node({ options: { emergency } })
    hut.ask('Q1ABC-7', 'Hjälp!')
    await hut.wait(5)
    expect(hut.sentTexts()).toEqual([':Q1ABC-7  :Nobody is here.'])
  })

  it.each([
    ['to another station', 'Q1ABC-7>APZ001::Q2XYZ    :SOS leg broken{12'],
    [
      'passed on by another station',
      'Q3GATE>APZ001:}Q1ABC-7>APZ001,TCPIP,Q3GATE*:!4512.00N/03642.00W>EMERGENCY',
    ],
  ])('%s it is marked and told, and not answered', async (_, line) => {
    const hut = node()
    hut.hear(line)
    await hut.wait(60)
    expect(marksOf(hut)).toMatchObject([{ station: 'Q1ABC-7' }])
    expect(hut.reports).toHaveLength(1)
    expect(hut.sentTexts()).toEqual([])
  })

  it.each([
    ['our own call as its source', 'N0DE-10>APZ001::N0DE-10  :SOS{12', 0],
    ['repaired by more than one bit', 'Q1ABC-7>APZ001::N0DE-10  :SOS{12', 2],
    ['an automatic reply', 'Q1ABC-7>APZ001::N0DE-10  :AA: EMERGENCY only by phone', 0],
    ['a word inside another', 'Q1ABC-7>APZ001::N0DE-10  :EMERGENCYLIGHT', 0],
  ])('%s: none', async (_, line, repairedBits) => {
    const hut = node()
    hut.hear(line, repairedBits)
    await hut.wait(10)
    expect(marksOf(hut)).toEqual([])
    expect(hut.reports).toEqual([])
    expect(hut.sentTexts().join()).not.toContain(reply)
  })

  it('to everybody it is answered, as nothing else is', async () => {
    const hut = node()
    hut.hear('Q1ABC-7>APZ001::ALL      :SOS at the pass')
    await hut.wait(5)
    expect(hut.sentTexts()).toEqual([expect.stringContaining(reply)])
    expect(prioritiesOf(hut)).toEqual(['emergency'])
  })

  it('an ignored station, or answering switched off: marked and told', async () => {
    for (const options of [{ ignored: ['Q1ABC'] }, { answering: false }]) {
      const hut = node({ options })
      hut.ask('Q1ABC-7', 'SOS{1')
      await hut.wait(60)
      expect(hut.sentTexts()).toEqual([])
      expect(hut.reports).toHaveLength(1)
    }
  })

  it('a database that keeps nothing: answered once, and not acknowledged', async () => {
    const hut = node()
    const refusing: Partial<Store> = {
      durably: () => ({ ok: false, failure: new Error('no room') as never }),
    }
    Object.assign(hut.store, refusing)
    hut.ask('Q1ABC-7', 'SOS{1')
    await hut.wait(60)
    expect(hut.sentTexts()).toEqual([`:Q1ABC-7  :${reply}`])
  })
})

describe('a call for help that is no message', () => {
  const micE = 'Q1ABC-7>332T6T:`(_fn"Oj/'
  it.each([
    ['a Mic-E emergency', micE, 'Mic-E emergency'],
    ['a position', 'Q1ABC-7>APZ001:!4512.00N/03642.00W>EMERGENCY leg broken', 'EMERGENCY'],
    ['a status', 'Q1ABC-7>APZ001:>EMERGENCY', 'EMERGENCY'],
  ])(
    '%s gets a numbered message, once, and repeated three times at most',
    async (_, line, sign) => {
      const hut = node()
      hut.hear(line)
      await hut.wait(3)
      expect(hut.reports).toMatchObject([{ sign, station: 'Q1ABC-7' }])
      expect(hut.sentTexts()).toEqual([expect.stringMatching(`:Q1ABC-7  :${reply}\\{\\w+`)])
      await hut.wait(500)
      expect(hut.sentTexts().length).toBeLessThanOrEqual(2)
      hut.hear(line)
      await hut.wait(10)
      expect(hut.sentTexts()).toEqual([])
    },
  )

  it('tells where the station is, as it says', () => {
    const hut = node()
    hut.hear('Q1ABC-7>APZ001:!4512.00N/03642.00W>EMERGENCY')
    expect(hut.reports[0]?.position).toEqual({ latitudeDeg: 45.2, longitudeDeg: -36.7, ageMs: 0 })
  })

  it('a beacon that always has it: three answers in six hours, for ever', async () => {
    const hut = node()
    for (let hour = 0; hour < 24; hour++) {
      for (let part = 0; part < 5; part++) {
        hut.hear(`Q1ABC-7>APZ001:>${hour * 5 + part} EMERGENCY POWER`)
        await hut.wait(720)
      }
    }
    const answered = hut.port.sent.filter(({ request }) => request.priority === 'emergency')
    expect(answered.length).toBeGreaterThan(9)
    expect(answered.length).toBeLessThanOrEqual(15)
    expect(hut.reports.length).toBeLessThanOrEqual(15)
  })

  it('a wall clock that jumps changes nothing', async () => {
    const clock = virtualClock()
    let byMs = 0
    const jumping = { ...clock, wallMs: () => clock.wallMs() + byMs }
    const hut = node({ clock: jumping })
    hut.hear(micE)
    await hut.wait(100)
    const before = hut.port.sent.length
    for (const jumpMs of [-3_600_000, 7_200_000, 31_536_000_000]) {
      byMs += jumpMs
      hut.hear(`Q1ABC-7>APZ001:>EMERGENCY ${jumpMs}`)
      await hut.wait(30)
    }
    expect(hut.port.sent.length).toBe(before)
  })
})

/** The node with its real transmit controller; what it is made to hear is heard at once. */
function hilltop(dutyShare: number) {
  const clock = virtualClock()
  const channel = createChannel({ clock, random: seededRandom(1), lossShare: () => 0 })
  const call = 'Q0HUT-10'
  const radio = simulatedRadio({ clock, channel, call, random: seededRandom(2), dutyShare })
  const listeners: ((frame: HeardFrame) => void)[] = []
  const port: Port = {
    ...radio,
    onFrame: (listener) => {
      listeners.push(listener)
      radio.onFrame(listener)
    },
  }
  const store = openStore({ file: ':memory:', clock })
  const events: NodeEvent[] = []
  const reports: EmergencyReport[] = []
  let id = 0
  const made = createNode({
    ...{ ports: [port], clock, random: seededRandom(3), nextId: () => `n${++id}`, store },
    services: [echoService],
    options: defaultNodeOptions({ call }),
    onEvent: (event) => events.push(event),
    onEmergency: (report) => reports.push(report),
  })
  made.start()
  const hear = (line: string): void => {
    const parsed = parseLine(line)
    if (!parsed.ok) throw new Error(parsed.reason)
    const octets = encodeFrame(parsed.frame)
    const heard = { heardAtMs: clock.monotonicMs(), heardAtWallMs: clock.wallMs() }
    for (const listener of listeners)
      listener({ octets, radio: 0, ...heard, repairedBits: 0, detector: 'test' })
  }
  const sent = () =>
    store.transmissions.query().flatMap(({ octets, priority, airtimeMs, outcome, atWallMs }) => {
      const decoded = decodeFrame(octets)
      if (outcome !== 'sent' || !decoded.ok) return []
      const payload = parsePayload(decoded.frame.payload, '')
      return [{ priority, airtimeMs: airtimeMs ?? 0, atWallMs, payload }]
    })
  return { clock, hear, sent, events, reports, store, node: made }
}

describe('forged calls for help', () => {
  /** 500 stations in ten minutes, half of them with a message, and ten others who ask for something. */
  const flood = async (forged: { readonly message: string; readonly other: string }) => {
    const hut = hilltop(0.2)
    const startMs = hut.clock.monotonicMs()
    for (let index = 0; index < 500; index++) {
      const call = `Q${index % 10}F${String(index).padStart(3, '0')}`
      const { message, other } = forged
      if (index % 2 === 0) hut.hear(`${call}>APZ001::Q0HUT-10 :${message} ${index}{${index}`)
      else hut.hear(`${call}>${other}:\`(_fn"Oj/`)
      if (index % 50 === 25) hut.hear(`Q7ASK-${(index - 25) / 50}>APZ001::Q0HUT-10 :echo fair{1`)
      await hut.clock.advanceToAsync(startMs + index * 1_200)
    }
    await hut.clock.advanceToAsync(startMs + 20 * 60_000)
    const fair = hut
      .sent()
      .flatMap(({ payload }) =>
        payload.kind === 'message' && payload.text === 'fair' ? [payload.addressee] : [],
      )
    return { ...hut, sent: hut.sent(), fairCount: new Set(fair).size }
  }

  it('500 in ten minutes take no more than the reserve, and leave others what 500 questions leave them', async () => {
    const questions = await flood({ message: `echo ${'a'.repeat(50)}`, other: 'S32U6T' })
    const calls = await flood({ message: 'SOS', other: '332T6T' })
    const urgent = calls.sent.filter(({ priority }) => priority === 'emergency')
    const urgentMs = urgent.reduce((sum, { airtimeMs }) => sum + airtimeMs, 0)
    console.log(
      `500 forged: ${urgent.length} answered at once, ${Math.round(urgentMs)} ms; others answered: ` +
        `${calls.fairCount} of 10, ${questions.fairCount} where they are questions`,
    )
    expect(urgent).toHaveLength(10)
    // the reserve of ten minutes at 20 % is a tenth of that
    expect(urgentMs).toBeLessThan(12_000)
    expect(calls.fairCount).toBeGreaterThanOrEqual(questions.fairCount - 1)
    expect(calls.fairCount).toBeGreaterThan(2)
    expect(calls.events.filter(({ kind }) => kind === 'fault')).toEqual([])
    expect(marksOf(calls)).toHaveLength(61)
    expect(calls.reports).toHaveLength(60)
  })

  it('the first is answered within seconds where questions have used up the rest of the duty limit', async () => {
    const hut = hilltop(0.05)
    for (let index = 0; index < 40; index++)
      hut.hear(
        `Q1Q${String(index).padStart(2, '0')}>APZ001::Q0HUT-10 :echo ${'x'.repeat(60)}{${index}`,
      )
    await hut.clock.advanceToAsync(hut.clock.monotonicMs() + 60_000)
    const atMs = hut.clock.wallMs()
    hut.hear('Q1SOS-7>APZ001::Q0HUT-10 :SOS{1')
    await hut.clock.advanceToAsync(hut.clock.monotonicMs() + 30_000)
    const answer = hut.sent().find(({ priority }) => priority === 'emergency')
    console.log(`answered after ${answer && answer.atWallMs - atMs} ms`)
    expect(answer).toBeDefined()
    expect(answer!.atWallMs - atMs).toBeLessThan(15_000)
  })

  it('who calls again while many wait for airtime is acknowledged: not rejected, nor told to ask later', async () => {
    const hut = hilltop(0.05)
    for (let index = 0; index < 14; index++)
      hut.hear(
        `Q1Q${String(index).padStart(2, '0')}>APZ001::Q0HUT-10 :echo ${'x'.repeat(60)}{${index}`,
      )
    for (const number of [1, 2, 3]) {
      hut.hear(`Q1SOS-7>APZ001::Q0HUT-10 :SOS{${number}`)
      await hut.clock.advanceToAsync(hut.clock.monotonicMs() + 30_000)
    }
    const toCaller = hut
      .sent()
      .map(({ payload }) => payload)
      .filter((payload) => 'addressee' in payload && payload.addressee === 'Q1SOS-7')
    const numbersOf = (kind: string) =>
      toCaller.flatMap((one) => (one.kind === kind && 'number' in one ? [one.number] : []))
    expect(numbersOf('rejection')).toEqual([])
    expect(numbersOf('acknowledgement')).toEqual(['1', '2', '3'])
    const texts = toCaller.flatMap((one) => (one.kind === 'message' ? [one.text] : []))
    expect([...new Set(texts)]).toEqual([reply])
  })
})

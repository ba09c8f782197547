import { describe, expect, it } from 'vitest'
import { encodeXid } from '../../../src/ax25/session/xid.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { ConnectedBench } from './connectedBench.js'

const sabm = { type: 'U', name: 'SABM', pollFinal: true } as const
const text = (words: string): Uint8Array => new TextEncoder().encode(words)

describe('whoever is hostile, careless or broken', () => {
  it('never acknowledges: asked N2 times, then let go', async () => {
    const bench = new ConnectedBench()
    bench.hear('Q7BAD', sabm)
    await bench.run(200)
    const sent = bench.sentTo('Q7BAD')
    expect(sent.filter((one) => one === 'RR 1')).toHaveLength(10)
    expect(sent.at(-1)).toBe('DM')
    expect(bench.events('disconnected')[0]).toContain('no answer')
  })

  it('only says that it is there, and takes nothing: let go as well', async () => {
    const bench = new ConnectedBench()
    bench.hear('Q7BAD', sabm)
    for (let at = 0; at < 400; at++) {
      await bench.run(1)
      if (bench.sentTo('Q7BAD').at(-1) === 'RR 1') {
        const control = { type: 'S', name: 'RR', receiveSequence: 0, pollFinal: true } as const
        bench.hear('Q7BAD', control, { command: 'response' })
      }
    }
    expect(bench.sentTo('Q7BAD').length).toBeLessThan(60)
    expect(bench.events('disconnected')[0]).toContain('no answer')
  })

  it('floods with SABM: answers stay few, and the link is ended', async () => {
    const bench = new ConnectedBench()
    for (let at = 0; at < 2000; at++) {
      bench.hear('Q7BAD', sabm)
      if (at % 20 === 0) await bench.run(1)
    }
    await bench.run(300)
    // A minute and a half of calls, twenty a second.
    expect(bench.sentTo('Q7BAD').length).toBeLessThan(150)
    expect(bench.test.node.state().waiting.length).toBeLessThan(100)
    expect(bench.test.node.state().connected?.openCount).toBe(0)
    expect(bench.test.node.state().faultCount).toBe(0)
  })

  it('asks again and again while the radio is held: one agreement and one greeting wait', async () => {
    const bench = new ConnectedBench()
    const waiting = new Set<string>()
    const { port } = bench.test
    port.send = ({ id }) => void waiting.add(id)
    port.withdraw = (id) => void waiting.delete(id)
    bench.hear('Q7LAP', sabm)
    await bench.run(15)
    const once = waiting.size
    expect(once).toBeGreaterThan(1)
    for (let call = 0; call < 5; call++) {
      bench.hear('Q7LAP', sabm)
      await bench.run(15)
    }
    expect(waiting.size).toBe(once)
  })

  it('calls under a thousand calls: a few are taken, a few are refused, the rest is not answered', async () => {
    const bench = new ConnectedBench()
    for (let at = 0; at < 1000; at++) bench.hear(`Q7${at}`, sabm)
    await bench.run(5)
    const answered = bench.test.port.sent.filter(({ line }) => /UA|DM/.test(line)).length
    expect(answered).toBeLessThan(20)
    expect(bench.test.node.state().connected?.openCount).toBeLessThanOrEqual(4)
    expect(bench.test.node.state().connected?.counts['too many that are not connected']).toBe(990)
  })

  it('sends I frames of 2,000 octets: begins anew, and at last ends', async () => {
    const bench = new ConnectedBench()
    bench.hear('Q7BAD', sabm)
    await bench.run(3)
    for (let at = 0; at < 200; at++) {
      const control = { type: 'I', sendSequence: 0, receiveSequence: 0, pollFinal: false } as const
      bench.hear('Q7BAD', control, { payload: new Uint8Array(2000) })
      bench.hear('Q7BAD', { type: 'U', name: 'UA', pollFinal: true }, { command: 'response' })
      await bench.run(1)
    }
    expect(bench.events('asked')).toEqual([])
    expect(bench.test.node.state().connected?.openCount).toBe(0)
    expect(bench.test.node.state().faultCount).toBe(0)
  })

  it('sends a line without end: told once, and bounded', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    const said = await bench.say(peer, 'x'.repeat(5000), 120)
    expect(said).toBe('Line left out: longer than 512 characters.\rQ2VAN-5>\r')
    expect(await bench.say(peer, '\recho on\r')).toBe('on\rQ2VAN-5>\r')
  })

  it('types control characters: what the log says is what was understood', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    const said = await bench.say(peer, 'ech\u0007o \u001b[2Jhi\u0000\tthere\bX\r')
    expect(said).toBe('[2Jhi therX\rQ2VAN-5>\r')
    expect(bench.events('asked')).toEqual(['Q7LAP: echo [2Jhi therX'])
    expect(bench.events('answered')).toEqual(['Q7LAP: [2Jhi therX'])
  })

  it('is shown what others wrote without what would command a terminal', async () => {
    const bench = new ConnectedBench()
    const { store, clock } = bench.test
    const life = { leftWallMs: clock.wallMs(), expiresWallMs: 86_400_000, expiryTrusted: false }
    const left = {
      questionId: 'q1',
      from: 'Q7BAD',
      to: 'Q1ABC',
      text: 'a\u009b2Jb\u202ec',
      ...life,
    }
    store.durably('a message', () => store.mailbox.insert(left))
    const writer = await bench.connect('Q7BAD')
    await bench.say(writer, 'letter Q1ABC x\u202ey\rgoes\u2066 on\r.\r')
    const reader = await bench.connect('Q1ABC')
    expect(await bench.say(reader, 'collect\r')).toContain('a%C2%9B2Jb%E2%80%AEc')
    expect(await bench.say(reader, 'read 1\r')).toContain('goes%E2%81%A6 on\r')
  })

  it('says bye, and calls again before that has ended: let go at once, not when it has said nothing for long', async () => {
    const bench = new ConnectedBench()
    bench.hear('Q7BAD', sabm)
    await bench.run(3)
    const control = { type: 'I', sendSequence: 0, receiveSequence: 1, pollFinal: false } as const
    bench.hear('Q7BAD', control, { payload: text('bye\r') })
    await bench.run(1)
    bench.hear('Q7BAD', sabm)
    await bench.run(10)
    expect(bench.sentTo('Q7BAD')).toContain('DISC 1')
  })

  it('calls by way of what is no call sign, or of more than eight: no answer', async () => {
    const bench = new ConnectedBench()
    const through = (call: string, count: number) =>
      Array.from({ length: count }, () => ({ address: { call, ssid: 5 }, repeated: true }))
    bench.hear('Q7BAD', sabm, { path: through('DIG/1', 1) })
    bench.hear('Q7BAD', sabm, { path: through('Q0DIG', 9) })
    await bench.run(5)
    expect(bench.sentTo('Q7BAD')).toEqual([])
    bench.hear('Q7BAD', sabm, { path: through('Q0DIG', 8) })
    await bench.run(5)
    expect(bench.sentTo('Q7BAD')[0]).toBe('UA 1')
  })

  it('types names that every object has: unknown words like others', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    for (const word of ['constructor', '__proto__', 'toString', 'hasOwnProperty']) {
      const said = await bench.say(peer, `${word}\r`)
      expect(said).toMatch(/\S.*\rQ2VAN-5>\r$/)
      expect(bench.events('fault')).toEqual([])
    }
    expect(bench.events('answered')).toHaveLength(4)
    expect(bench.test.node.state().connected?.openCount).toBe(1)
  })

  it('says by XID that it takes one octet at a time: frames stay few', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    const control = { type: 'U', name: 'XID', pollFinal: true } as const
    bench.hear('Q7LAP', control, { payload: encodeXid({ informationOctetsMax: 1 }) })
    await bench.run(2)
    const before = bench.sentTo('Q7LAP').length
    expect(await bench.say(peer, `echo ${'x'.repeat(150)}\r`, 40)).toContain('x'.repeat(150))
    expect(bench.sentTo('Q7LAP').length - before).toBeLessThan(30)
  })

  it('asks a thousand things at once: is asked to wait, and each is answered once and in order', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    const asked = Array.from({ length: 150 }, (_, at) => `echo ${at}\r`).join('')
    const said = await bench.say(peer, asked, 400)
    const numbers = [...said.matchAll(/^(\d+)$/gm)].map(([, number]) => Number(number))
    const lines = said
      .split('\r')
      .filter((line) => /^\d+$/.test(line))
      .map(Number)
    expect(numbers.length + lines.length).toBeGreaterThan(0)
    expect(lines).toEqual(Array.from({ length: 150 }, (_, at) => at))
  })

  it('sends anything: no fault, no exception', async () => {
    const random = seededRandom(7)
    const bench = new ConnectedBench()
    const pick = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)]!
    for (let at = 0; at < 3000; at++) {
      const pollFinal = random() < 0.5
      const number = (): number => Math.floor(random() * 8)
      const control = pick([
        sabm,
        {
          type: 'U',
          name: pick(['SABME', 'DISC', 'UA', 'DM', 'FRMR', 'XID', 'TEST'] as const),
          pollFinal,
        },
        { type: 'I', sendSequence: number(), receiveSequence: number(), pollFinal },
        {
          type: 'S',
          name: pick(['RR', 'RNR', 'REJ', 'SREJ'] as const),
          receiveSequence: number(),
          pollFinal,
        },
      ] as const)
      const payload = random() < 0.5 ? text('echo x\r') : new Uint8Array(Math.floor(random() * 300))
      const command = pick(['command', 'response', 'neither', 'both'] as const)
      bench.hear(pick(['Q7A', 'Q7B', 'Q7C']), control, { payload, command })
      if (at % 5 === 0) await bench.run(1)
    }
    await bench.run(600)
    expect(bench.test.node.state().faultCount).toBe(0)
    expect(bench.events('fault')).toEqual([])
  })
})

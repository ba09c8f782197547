import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { decodeFrame } from '../../../src/ax25/frame.js'
import { decodeXid, encodeXid } from '../../../src/ax25/session/xid.js'
import { pcapHeader, pcapRecord } from '../../../src/capture/pcap.js'
import { defaultNodeOptions } from '../../../src/setup/defaultOptions.js'
import { ConnectedBench } from './connectedBench.js'

const analyserAbsent = spawnSync('tshark', ['--version']).error !== undefined

const poll = (name: 'SABM' | 'SABME' | 'DISC' | 'XID' | 'TEST') =>
  ({ type: 'U', name, pollFinal: true }) as const

describe('a station that connects', () => {
  it('is greeted, asks, and leaves; the log says what it read', async () => {
    const bench = new ConnectedBench('welcome = "Valley hut node"')
    const peer = await bench.connect('Q7LAP')
    expect(peer.text).toBe(
      'Valley hut node\rThis is Q2VAN-5. help: what there is; bye: leave.\rQ2VAN-5>\r',
    )
    expect(await bench.say(peer, 'echo one/two\r')).toBe('one\rtwo\rQ2VAN-5>\r')
    expect(await bench.say(peer, 'bye\r')).toBe('73.\r')
    expect(peer.state).toBe('off')
    expect(bench.events('connected')).toEqual(['Q7LAP: version 2.0'])
    expect(bench.events('asked')).toEqual(['Q7LAP: echo one/two', 'Q7LAP: bye'])
    expect(bench.events('answered')).toEqual(['Q7LAP: one / two', 'Q7LAP: 73.'])
    expect(bench.events('disconnected')).toEqual([
      expect.stringMatching(/^Q7LAP: 17 octets received, \d+ taken, 0\.\d minutes: by us$/),
    ])
    expect(bench.test.node.state().connected?.openCount).toBe(0)
    // Whoever asks who was heard is told of it, and the page has it among its stations.
    expect(bench.test.store.stations.find('Q7LAP')).toMatchObject({ via: ['direct'] })
    // Who takes our call for his own is not.
    bench.hear('Q2VAN-5', poll('SABM'))
    await bench.run(3)
    expect(bench.test.store.stations.find('Q2VAN-5')).toBeUndefined()
  })

  it('reads lines without the limit of a message', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    const long = 'x'.repeat(400)
    expect(await bench.say(peer, `echo ${long}\r`, 30)).toBe(`${long}\rQ2VAN-5>\r`)
  })

  it('shares the node with others up to the limit; one more gets DM', async () => {
    const bench = new ConnectedBench('stationsMax = 2')
    const [a, b] = [await bench.connect('Q7LAP'), await bench.connect('Q7HUT-3')]
    bench.hear('Q7TENT', poll('SABM'))
    await bench.run(3)
    expect(bench.sentTo('Q7TENT')).toEqual(['DM 1'])
    a.say('echo for a\r')
    b.say('echo for b\r')
    await bench.run(15)
    expect([a.text.endsWith('for a\rQ2VAN-5>\r'), b.text.endsWith('for b\rQ2VAN-5>\r')]).toEqual([
      true,
      true,
    ])
    expect(bench.events('refused')).toEqual([
      'Q7TENT: a connection: 2 stations are connected already',
    ])
  })

  it('leaves a letter that its receiver reads, and messages are collected and reported', async () => {
    const bench = new ConnectedBench()
    const writer = await bench.connect('Q7LAP')
    expect(await bench.say(writer, 'letter q1abc Key of the hut\r')).toContain('Letter for Q1ABC.')
    const text = 'Under the stone.\rBring wood.\r'
    expect(await bench.say(writer, `${text}.\r`)).toContain('Letter 1 for Q1ABC is kept')
    expect(await bench.say(writer, 'letters\r')).toContain('No letters for you')
    expect(await bench.say(writer, 'read 1\r')).toContain('1? letters: the list')

    const reader = await bench.connect('Q1ABC-7')
    expect(reader.text).toContain('New letters for you: 1. letters: the list')
    expect(await bench.say(reader, 'letters\r')).toMatch(/1 from Q7LAP, .*, new: Key of the hut/)
    expect(await bench.say(reader, 'read 1\r')).toContain(
      'Under the stone.\rBring wood.\rEnd of letter 1.\r',
    )
    expect(bench.events('delivered')).toEqual(['Q1ABC-7: letter from Q7LAP: Key of the hut'])
    expect(await bench.say(reader, 'collect\r')).toContain(
      'ago: A letter of 29 characters waits: connect to Q2VAN-5',
    )
    expect(bench.events('delivered')).toHaveLength(2)
    expect(await bench.say(reader, 'collect\r')).toContain('No messages for you.')
    expect(await bench.say(reader, 'erase 1\r')).toContain('Letter 1 is erased.')
    expect(await bench.say(reader, 'letters\r')).toContain('No letters for you')
  })

  it('says what may have been read before, where a connection broke over it', async () => {
    const bench = new ConnectedBench()
    const { store, clock } = bench.test
    const expiresWallMs = clock.wallMs() + 86_400_000
    const life = { leftWallMs: clock.wallMs(), expiresWallMs, expiryTrusted: true }
    const left = { questionId: 'q1', from: 'Q7LAP', to: 'Q1ABC', text: 'bring rope', ...life }
    store.durably('a message', () => store.mailbox.insert(left))
    const reader = await bench.connect('Q1ABC')
    bench.peers.pop()
    await bench.say(reader, 'collect\r', 600)
    expect(store.mailbox.waiting()).toMatchObject([{ text: 'bring rope', shown: true }])
    const again = await bench.connect('Q1ABC')
    expect(await bench.say(again, 'collect\r')).toMatch(
      /From Q7LAP, .*, perhaps read before: bring rope/,
    )
    expect(store.mailbox.waiting()).toEqual([])
  })

  it('takes letters of 10 kB whole, and not one more', async () => {
    const bench = new ConnectedBench()
    const writer = await bench.connect('Q7LAP')
    const line = `${'brot '.repeat(20).trim()}\r`
    await bench.say(writer, 'letter Q1ABC long\r')
    expect(await bench.say(writer, `${line.repeat(100)}.\r`, 240)).toContain(
      'is kept: 10000 characters',
    )
    await bench.say(writer, 'letter Q1ABC longer\r')
    expect(await bench.say(writer, `${line.repeat(101)}.\r`, 240)).toContain('Not kept')
    const reader = await bench.connect('Q1ABC')
    const read = await bench.say(reader, 'read 1\r', 240)
    expect(read).toContain(line.repeat(99) + line.trim())
  })

  it('calls for help in a line: marked, told and answered as a message is, also in a letter', async () => {
    const told: string[] = []
    const bench = new ConnectedBench('', {
      onEmergency: ({ station, text }) => told.push(`${station}: ${text}`),
    })
    const peer = await bench.connect('Q7LAP')
    const reply = defaultNodeOptions({}).emergency.reply
    expect(await bench.say(peer, 'sos leg broken at the mill\r')).toBe(`${reply}\rQ2VAN-5>\r`)
    expect(bench.events('emergency')).toHaveLength(1)
    expect(told).toEqual(['Q7LAP: sos leg broken at the mill'])
    await bench.say(peer, 'letter Q1ABC help\r')
    expect(await bench.say(peer, 'mayday again\r')).toBe(`${reply}\r`)
    expect(bench.events('emergency')).toHaveLength(2)
    expect(await bench.say(peer, '.\r')).toContain('is kept')
  })

  it('has TEST and XID answered, connected or not', async () => {
    const bench = new ConnectedBench()
    const payload = new TextEncoder().encode('loop')
    bench.hear('Q7LAP', poll('TEST'), { payload })
    bench.hear('Q7LAP', poll('XID'), { payload: encodeXid({ modulo: 8, windowFramesMax: 2 }) })
    await bench.run(5)
    expect(bench.sentTo('Q7LAP')).toEqual(['TEST 1', 'XID 1'])
    const frames = bench.test.port.sent.map(({ request }) => decodeFrame(request.octets))
    expect(frames[0]).toMatchObject({ frame: { payload, command: 'response' } })
    const told = frames[1]?.ok ? decodeXid(frames[1].frame.payload) : undefined
    expect(told).toMatchObject({ value: { modulo: 128, informationOctetsMax: 256 } })
  })

  it('is let go of in its time, and may call again, after a mistake of ours with what it said', async () => {
    const bench = new ConnectedBench()
    const peer = await bench.connect('Q7LAP')
    const { store } = bench.test
    const { reading } = store
    const mistake: typeof reading = (what, otherwise, read) => {
      if (what === 'the letters') throw new Error('a mistake')
      return reading(what, otherwise, read)
    }
    Object.assign(store, { reading: mistake })
    await bench.say(peer, 'letters\r')
    Object.assign(store, { reading })
    expect(bench.test.node.state().faultCount).toBeGreaterThan(0)
    await bench.run(900)
    expect(bench.events('disconnected')).toHaveLength(1)
    bench.peers.splice(0)
    const again = await bench.connect('Q7LAP')
    expect(await bench.say(again, 'echo here\r')).toContain('here')
  })

  it('is not sent any more once the node has stopped', async () => {
    const bench = new ConnectedBench()
    await bench.connect('Q7LAP')
    bench.test.node.stop()
    expect(bench.test.node.state().faultCount).toBe(0)
    const { length } = bench.test.port.sent
    bench.hear('Q7LAP', { type: 'U', name: 'SABM', pollFinal: true })
    await bench.run(900)
    expect(bench.test.port.sent).toHaveLength(length)
  })

  it('gets DM after a restart, with whatever it goes on', async () => {
    const bench = new ConnectedBench()
    bench.hear('Q7LAP', { type: 'I', sendSequence: 3, receiveSequence: 2, pollFinal: false })
    bench.hear('Q7LAP', { type: 'S', name: 'RR', receiveSequence: 2, pollFinal: true })
    await bench.run(5)
    expect(bench.sentTo('Q7LAP')).toEqual(['DM', 'DM 1'])
  })

  it('that says nothing for long is sent away', async () => {
    const bench = new ConnectedBench('idleMinutes = 2')
    const peer = await bench.connect('Q7LAP')
    await bench.run(160)
    expect(peer.gone).toBe('they left')
    expect(bench.events('disconnected')[0]).toContain('by us: nothing for 2 minutes')
  })

  it.skipIf(analyserAbsent)('opens without a malformed frame in tshark', async () => {
    const bench = new ConnectedBench()
    const heard: Uint8Array[] = []
    const hear = bench.test.port.hear.bind(bench.test.port)
    bench.test.port.hear = (octets) => {
      heard.push(octets)
      hear(octets)
    }
    const peer = await bench.connect('Q7LAP')
    await bench.say(peer, 'echo a/b/c\r')
    bench.hear('Q7TENT', poll('XID'), { payload: encodeXid({ modulo: 8 }) })
    bench.hear('Q7TENT', poll('TEST'), { payload: Uint8Array.of(1, 2, 3) })
    await bench.say(peer, 'bye\r')
    const frames = [...heard, ...bench.test.port.sent.map(({ request }) => request.octets)]
    const folder = mkdtempSync(join(tmpdir(), 'ridgepost-connected-'))
    const file = join(folder, 'session.pcap')
    const records = frames.map((octets, at) => pcapRecord(octets, at, 0))
    writeFileSync(file, Buffer.concat([pcapHeader(), ...records]))
    const shown = execFileSync(
      'tshark',
      [
        '-r',
        file,
        '-T',
        'fields',
        '-e',
        'frame.protocols',
        '-e',
        '_ws.malformed',
        '-e',
        '_ws.col.Info',
      ],
      { encoding: 'utf8' },
    )
    rmSync(folder, { recursive: true })
    const lines = shown.trim().split('\n')
    expect(lines).toHaveLength(frames.length)
    expect(shown).not.toMatch(/malformed/i)
    for (const name of ['SABM', 'UA', 'RR', 'XID', 'TEST', 'DISC']) expect(shown).toContain(name)
  })
})

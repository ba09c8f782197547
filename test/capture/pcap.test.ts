import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterAll, describe, expect, it } from 'vitest'
import { encodeFrame } from '../../src/ax25/frame.js'
import { pcapHeader, pcapRecord } from '../../src/capture/pcap.js'
import { frames } from '../ax25/arbitraries.js'

const seed = 202
const hexOf = (data: Uint8Array): string => Buffer.from(data).toString('hex')

describe('capture records', () => {
  it('the header is the classic one: little-endian, version 2.4, microseconds, link type 202', () => {
    expect(hexOf(pcapHeader())).toBe('d4c3b2a1020004000000000000000000ffff0000ca000000')
  })

  it('a record: seconds, microseconds, both lengths, KISS octet, frame', () => {
    const record = pcapRecord(Uint8Array.of(0xaa, 0xbb), 1_767_225_600_123.456, 3)
    expect(hexOf(record)).toBe('00b9556940e20100030000000300000030aabb')
  })

  it('a stamp that rounds up to a whole second stays right', () => {
    const view = new DataView(pcapRecord(new Uint8Array(), 1999.9999, 0).buffer)
    expect([view.getUint32(0, true), view.getUint32(4, true)]).toEqual([2, 0])
  })

  it('refuses radio numbers that have no nibble', () => {
    expect(() => pcapRecord(new Uint8Array(), 0, 16)).toThrow(RangeError)
  })
})

const analyserAbsent = spawnSync('tshark', ['--version']).error !== undefined

/** A general-purpose protocol analyser reads what we wrote; absent, apt-get install tshark. */
describe.skipIf(analyserAbsent)('tshark on 1,000 random frames', () => {
  const directory = mkdtempSync(join(tmpdir(), 'ridgepost-pcap-'))
  afterAll(() => rmSync(directory, { recursive: true }))

  const columns = [
    'frame.protocols',
    'frame.len',
    'frame.time_epoch',
    'ax25_kiss.cmd',
    'ax25.dst',
    'ax25.src',
    ...Array.from({ length: 8 }, (_, at) => `ax25.via${at + 1}`),
    'ax25.ctl',
    'ax25.pid',
    'data.data',
    '_ws.malformed',
  ]

  it('agrees on addresses, control, PID and payload', { timeout: 60_000 }, () => {
    // Half of the PIDs are F0, whose payload the analyser shows as it is.
    const sample = fc.sample(frames, { numRuns: 1000, seed }).map((frame, at) => {
      if (frame.pid === undefined || at % 2 === 0) return frame
      const { pidExtension: _, ...rest } = frame
      return { ...rest, pid: 0xf0 }
    })
    const file = join(directory, 'frames.pcap')
    const stampMs = (at: number): number => 1_767_225_600_000 + at * 10.001
    const radioOf = (at: number): number => at % 16
    const records = sample.map((frame, at) =>
      pcapRecord(encodeFrame(frame), stampMs(at), radioOf(at)),
    )
    writeFileSync(file, Buffer.concat([pcapHeader(), ...records]))

    const analyse = (...args: string[]): string =>
      execFileSync('tshark', ['-n', '-r', file, ...args], {
        encoding: 'utf8',
        stdio: ['ignore', 'pipe', 'ignore'],
        maxBuffer: 64 * 1024 * 1024,
      })
    const fields = columns.flatMap((column) => ['-e', column])
    const output = analyse('-T', 'fields', '-E', 'separator=|', ...fields)
    const rows = output.trimEnd().split('\n')
    expect(rows).toHaveLength(1000)

    // Version 4.0 shows port 0 in the field whatever the octet says, and the right one in the
    // summary.
    const summaries = analyse('-V').matchAll(/^KISS: Data frame, Port (\d+)$/gm)
    const ports = [...summaries].map(([, port]) => Number(port))

    let payloads = 0
    for (const [at, row] of rows.entries()) {
      const frame = sample[at]!
      const cells = Object.fromEntries(row.split('|').map((cell, index) => [columns[index]!, cell]))
      const octets = encodeFrame(frame)
      const subfield = (index: number): string =>
        [...octets.subarray(index * 7, index * 7 + 7)]
          .map((octet) => octet.toString(16).padStart(2, '0'))
          .join(':')

      expect(cells['frame.protocols']).toMatch(/^ax25_kiss:ax25/)
      expect(Number(cells['frame.len'])).toBe(octets.length + 1)
      expect(Number(cells['frame.time_epoch'])).toBeCloseTo(stampMs(at) / 1000, 6)
      expect(Number(cells['ax25_kiss.cmd'])).toBe(0)
      expect(ports[at]).toBe(radioOf(at))
      expect(cells['ax25.dst']).toBe(subfield(0))
      expect(cells['ax25.src']).toBe(subfield(1))
      for (let via = 1; via <= 8; via++) {
        expect(cells[`ax25.via${via}`]).toBe(via <= frame.path.length ? subfield(via + 1) : '')
      }
      expect(Number(cells['ax25.ctl'])).toBe(frame.controlOctets[0])
      // A UI frame with the P/F bit set is shown without its PID and payload.
      const pollFinalUi = frame.control.type === 'UI' && frame.control.pollFinal
      const pid = pollFinalUi ? undefined : frame.pid
      const pidHex = pid === undefined ? '' : `0x${pid.toString(16).padStart(2, '0')}`
      expect(cells['ax25.pid']).toBe(pidHex)
      // Other PIDs go to the dissector of their layer 3, where random octets are nonsense.
      if (pid === 0xf0) {
        expect(cells['data.data']).toBe(hexOf(frame.payload))
        expect(cells['_ws.malformed']).toBe('')
        if (frame.payload.length > 0) payloads++
      }
    }
    expect(payloads).toBeGreaterThan(100)
  })
})

import { describe, expect, it } from 'vitest'
import type { SerialDevice } from '../../src/devices/serialLine.js'
import { createGps } from '../../src/node/gps.js'
import { openGpsSerial } from '../../src/node/gpsSerial.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

/** Sentences made here for an invented place; their check sums are the exclusive or of the characters (NMEA 0183). */
const sentence = (body: string): string => {
  let sum = 0
  for (const character of body) sum ^= character.charCodeAt(0)
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`
}
const gga = sentence('GPGGA,120000.00,4630.0000,N,00815.0000,E,1,08,0.9,2106.0,M,48.0,M,,')
const rmc = sentence('GPRMC,120003.00,A,4630.0000,N,00815.0000,E,0.0,0.0,010126,,')

describe('GPS', () => {
  it('gives position, height and how far the clock is off', () => {
    const clock = virtualClock(Date.UTC(2026, 0, 1, 12, 0, 1))
    const gps = createGps(clock)
    gps.line(gga)
    gps.line(`${rmc}\r\n`)
    const state = gps.state()
    expect(state.position?.latitudeDeg).toBeCloseTo(46.5, 6)
    expect(state.position?.longitudeDeg).toBeCloseTo(8.25, 6)
    expect(state).toMatchObject({ heightM: 2106, satellites: 8, clockBehindMs: 2000 })
    expect(state.badLineCount).toBe(0)
    clock.advanceBy(11_000)
    expect(gps.state().position).toBeUndefined()
  })

  it('takes no position from a receiver without a fix, and counts what is damaged', () => {
    const gps = createGps(virtualClock())
    gps.line(sentence('GPGGA,120000.00,,,,,0,00,99.9,,M,,M,,'))
    gps.line(sentence('GPRMC,120003.00,V,,,,,,,010126,,'))
    gps.line(gga.replace('4630', '4730'))
    gps.line('\u0000\u0001garbage')
    gps.line(`$${'x'.repeat(500)}`)
    gps.line(sentence('GPGSV,1,1,01,01,40,083,46'))
    expect(gps.state().position).toBeUndefined()
    expect(gps.state()).toMatchObject({ lineCount: 6, badLineCount: 3 })
  })

  it('opens the line again when the device comes back, and tells of it once', async () => {
    const clock = virtualClock()
    const gps = createGps(clock)
    const lines: FakeLine[] = []
    const faults: string[] = []
    let present = false
    const close = openGpsSerial({
      device: '/dev/gps',
      lineBitRate: 9600,
      clock,
      gps,
      onFault: (failure) => faults.push(failure.code),
      make: () => {
        const line = new FakeLine(present)
        lines.push(line)
        return line
      },
    })
    clock.advanceBy(20_000)
    expect(lines.length).toBeGreaterThan(3)
    expect(faults).toEqual(['gps-lost'])
    present = true
    clock.advanceBy(60_000)
    const line = lines.at(-1)!
    line.say(`${gga.slice(0, 20)}`)
    line.say(`${gga.slice(20)}\r\n`)
    expect(gps.state().position).toBeDefined()
    line.drop()
    expect(faults).toEqual(['gps-lost', 'gps-lost'])
    close()
    const count = lines.length
    clock.advanceBy(600_000)
    expect(lines.length).toBe(count)
  })
})

describe('what a GPS says', () => {
  const bench = () => {
    const clock = virtualClock(Date.UTC(2026, 0, 1, 12, 0, 1))
    return { clock, gps: createGps(clock) }
  }
  const nothing = {
    ...{ position: undefined, heightM: undefined, satellites: undefined, clockBehindMs: undefined },
  }

  it('is nothing at first, and nothing of empty lines', () => {
    const { gps } = bench()
    gps.line('')
    gps.line(' \r\n')
    expect(gps.state()).toEqual({ ...nothing, lineCount: 0, badLineCount: 0 })
  })

  it('is a place without a time by one kind of sentence, and both by the other', () => {
    const { gps, clock } = bench()
    gps.line(gga)
    const position = { latitudeDeg: 46.5, longitudeDeg: 8.25 }
    expect(gps.state()).toEqual({
      ...{ position, heightM: 2106, satellites: 8, clockBehindMs: undefined },
      ...{ lineCount: 1, badLineCount: 0 },
    })
    clock.advanceBy(10_001)
    gps.line(sentence('GPRMC,120000.00,A,4730.0000,S,00915.0000,W,0.0,0.0,010126,,'))
    // 12:00:00 by GPS, 12:00:11.001 by the clock
    expect(gps.state()).toMatchObject({
      ...{ position: { latitudeDeg: -47.5, longitudeDeg: -9.25 }, clockBehindMs: -11_001 },
    })
    clock.advanceBy(10_001)
    expect(gps.state()).toEqual({
      ...{ ...nothing, clockBehindMs: -11_001, lineCount: 2, badLineCount: 0 },
    })
  })

  it('is no height where it says none: the last one stands', () => {
    const { gps } = bench()
    gps.line(gga)
    gps.line(sentence('GPGGA,120001.00,4631.0000,N,00815.0000,E,1,07,0.9,,M,,M,,'))
    expect(gps.state()).toMatchObject({
      ...{ heightM: 2106, satellites: 7, position: { latitudeDeg: expect.closeTo(46.51667, 4) } },
    })
  })

  it('is no place where it says none, though it says that it has a fix', () => {
    const { gps } = bench()
    gps.line(sentence('GPGGA,120001.00,,,,,1,07,0.9,2106.0,M,,M,,'))
    gps.line(sentence('GPRMC,120001.00,A,,,,,0.0,0.0,010126,,'))
    expect(gps.state()).toMatchObject({ position: undefined, clockBehindMs: 0 })
  })

  it.each([
    ['9100.0000,N,00815.0000,E', false],
    ['4630.0000,N,18100.0000,E', false],
    ['9000.0000,N,18000.0000,W', true],
    ['9000.0000,S,18000.0000,E', true],
  ])('at %s it is on the earth: %s', (where, isPlace) => {
    const { gps } = bench()
    gps.line(sentence(`GPGGA,120000.00,${where},1,08,0.9,2106.0,M,48.0,M,,`))
    expect(gps.state().position !== undefined).toBe(isPlace)
  })

  it.each([
    ['GPGSA,A,3,01,,,,,,,,,,,,1.9,0.9,1.7', 0],
    ['GPVTG,0.0,T,,M,0.0,N,0.0,K', 0],
    ['GPGLL,4630.0000,N,00815.0000,E,120000.00,A', 0],
    ['GPZDA,120000.00,01,01,2026,00,00', 0],
    ['GPTXT,01,01,02,hello', 0],
    ['GNGNS,120000.00,4630.0000,N,00815.0000,E,AA,08,0.9,2106.0,48.0,,', 0],
    ['GPXYZ,what is this', 1],
  ])('of %s it counts %i as bad', (body, count) => {
    const { gps } = bench()
    gps.line(sentence(body))
    expect(gps.state()).toEqual({ ...nothing, lineCount: 1, badLineCount: count })
  })
})

class FakeLine implements SerialDevice {
  isOpen = false
  readonly writableLength = 0
  #data: (chunk: Buffer) => void = () => {}
  #close: (error?: Error | null) => void = () => {}
  constructor(private readonly present: boolean) {}
  on(event: string, listener: (chunk: Buffer & Error) => void): void {
    if (event === 'data') this.#data = listener as never
    if (event === 'close') this.#close = listener as never
  }
  open(callback: (error: Error | null) => void): void {
    this.isOpen = this.present
    callback(this.present ? null : new Error('no such file or directory'))
  }
  close(done: (error: null) => void): void {
    this.isOpen = false
    this.#close()
    done(null)
  }
  write = () => true
  set(): void {}
  get(): void {}
  say(text: string): void {
    this.#data(Buffer.from(text))
  }
  drop(): void {
    this.isOpen = false
    this.#close(new Error('disconnected'))
  }
}

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

import { describe, expect, it } from 'vitest'
import {
  announcementBulletins,
  capabilitiesPayload,
  noticeBulletins,
  objectName,
  objectPayload,
  positionPayload,
  serviceBulletins,
  statusPayload,
  telemetryDefinitions,
  telemetryPayload,
} from '../../src/node/beaconPayloads.js'
import type { Service } from '../../src/services/service.js'
import { inEnglish } from '../../src/words/air/all.js'

/** The forms are those of the APRS reference 1.0.1: chapters 6 and 7, 11, 13, 14, 15 and 16. */

const text = (payload: Uint8Array): string => Buffer.from(payload).toString('latin1')
const position = { latitudeDeg: 49.0583333, longitudeDeg: -72.0291667 }
const long = (count: number): string => 'abcdefghij'.repeat(10).slice(0, count)

describe('a position', () => {
  const sent = (symbol: string, comment = '', reach?: { rangeM: number }): string =>
    text(positionPayload({ position, symbol, comment, reach }))

  it('has the symbol that is given, or that of a digipeater', () => {
    expect(sent('\\n')).toBe('=4903.50N\\07201.75Wn')
    expect(sent('S#')).toBe('=4903.50NS07201.75W#')
    expect(sent('')).toBe('=4903.50N/07201.75Wr')
    expect(sent('\\')).toBe('=4903.50N\\07201.75Wr')
  })

  it('has a comment of 43 characters at most, or of 36 beside a reach, cleaned and without a blank at its end', () => {
    expect(sent('/r', long(43))).toBe(`=4903.50N/07201.75Wr${long(43)}`)
    expect(sent('/r', long(44))).toBe(`=4903.50N/07201.75Wr${long(43)}`)
    expect(sent('/r', `${long(42)} x`)).toBe(`=4903.50N/07201.75Wr${long(42)}`)
    expect(sent('/r', 'Hütte ~ 5')).toBe('=4903.50N/07201.75WrHutte - 5')
    const reach = { rangeM: 32_187 }
    expect(sent('/r', long(36), reach)).toBe(`=4903.50N/07201.75WrRNG0020${long(36)}`)
    expect(sent('/r', long(37), reach)).toBe(`=4903.50N/07201.75WrRNG0020${long(36)}`)
  })
})

describe('a status', () => {
  it('has 62 characters at most', () => {
    expect(text(statusPayload(long(62)))).toBe(`>${long(62)}`)
    expect(text(statusPayload(long(63)))).toBe(`>${long(62)}`)
  })
})

describe('capabilities', () => {
  it('are what is answered and heard here, and not those of a gateway', () => {
    expect(text(capabilitiesPayload(3, 17))).toBe('<QUESTIONS,ANSWERED=3,HEARD=17')
  })
})

describe('bulletins', () => {
  const service = (usage: string) => ({ keyword: usage, usage }) as Service

  it('of services: from 0 on, in lines of a message, at most five', () => {
    const sent = (services: readonly Service[]): string[] =>
      serviceBulletins('N0DE-10', services, inEnglish).map(text)
    expect(sent([service('mast'), service('moor [DATE]')])).toEqual([
      ':BLN0     :Message N0DE-10 with: mast, moor [DATE]',
    ])
    const many = Array.from({ length: 60 }, (_, at) => service(`service${at}`))
    const lines = sent(many)
    expect(lines.map((line) => line.slice(0, 11))).toEqual(
      [0, 1, 2, 3, 4].map((id) => `:BLN${id}     :`),
    )
    expect(Math.max(...lines.map(({ length }) => length))).toBeLessThanOrEqual(11 + 67)
  })

  it('of notices: from 5 to 9, with who wrote it, cut to a message', () => {
    const notices = ['one', 'two {2}', long(90), 'four', 'five', 'six'].map((said) => ({
      ...{ from: 'Q1ABC', text: said, atWallMs: 0 },
    }))
    expect(noticeBulletins(notices as never).map(text)).toEqual([
      ':BLN5     :Q1ABC: one',
      ':BLN6     :Q1ABC: two (2)',
      `:BLN7     :Q1ABC: ${long(58)}..`,
      ':BLN8     :Q1ABC: four',
      ':BLN9     :Q1ABC: five',
    ])
    expect(noticeBulletins([])).toEqual([])
  })

  it('of announcements: from A to Z, cut to a message', () => {
    const sent = announcementBulletins(Array.from({ length: 27 }, (_, at) => `text | ${at}`)).map(
      text,
    )
    expect(sent).toHaveLength(26)
    expect([sent[0], sent[25]]).toEqual([':BLNA     :text / 0', ':BLNZ     :text / 25'])
    expect(announcementBulletins([long(68)]).map(text)).toEqual([`:BLNA     :${long(65)}..`])
  })
})

describe('an object', () => {
  const object = { name: 'LEADER', position, symbol: '/>', comment: '088/036' }
  const atWallMs = Date.UTC(2026, 0, 9, 23, 45)

  it('is told with its time, and told again when it is gone', () => {
    // chapter 11 of the reference prints this one
    expect(text(objectPayload(object, atWallMs))).toBe(
      ';LEADER   *092345z4903.50N/07201.75W>088/036',
    )
    expect(text(objectPayload(object, atWallMs, false))).toBe(
      ';LEADER   _092345z4903.50N/07201.75W>088/036',
    )
    const cut = { ...object, comment: long(44) }
    expect(text(objectPayload(cut, atWallMs))).toBe(
      `;LEADER   *092345z4903.50N/07201.75W>${long(43)}`,
    )
  })

  it('has a name of one to nine characters', () => {
    expect(objectName({ name: 'Gasthaus Löwen' })).toBe('Gasthaus')
    expect(objectName({ name: 'SUMMIT-12' })).toBe('SUMMIT-12')
    expect(objectName({ name: 'SUMMIT-123' })).toBe('SUMMIT-12')
    expect(objectName({ name: '' })).toBe('OBJECT')
  })
})

describe('telemetry', () => {
  const channel = (value: number | undefined, step = 1, offset = 0) => ({
    ...{ name: 'Name', unit: 'unit', step, offset, read: () => value },
  })
  const none = { dutyUsed: 0, framesHeard: 0 }

  it('has what is read, then the share of the duty limit and the frames heard', () => {
    const given = [channel(12.62, 0.1), channel(21.3, 0.5, -40), channel(7)]
    // 12.62 / 0.1, (21.3 + 40) / 0.5, 7, 7.5 % in halves, 88 frames
    expect(text(telemetryPayload(5, given, { dutyUsed: 0.075, framesHeard: 88 }))).toBe(
      'T#005,126,123,007,015,088,11100000',
    )
  })

  it('fills what is not given, and says of what cannot be read that it is not', () => {
    expect(text(telemetryPayload(1, [], none))).toBe('T#001,000,000,000,000,000,00000000')
    expect(text(telemetryPayload(1, [channel(undefined), channel(9)], none))).toBe(
      'T#001,000,009,000,000,000,01000000',
    )
    expect(text(telemetryPayload(1, [], { dutyUsed: 0.01, framesHeard: 3 }))).toBe(
      'T#001,002,003,000,000,000,00000000',
    )
  })

  it('stays within 0 and 255, and its count within 999', () => {
    const given = [channel(-1), channel(255.4), channel(256)]
    expect(text(telemetryPayload(999, given, { dutyUsed: 0, framesHeard: 1_000 }))).toBe(
      'T#999,000,255,255,000,255,11100000',
    )
    expect(text(telemetryPayload(1_001, [], none))).toMatch(/^T#001,/)
  })

  it('has room for three channels of ours', () => {
    const given = [1, 2, 3, 4].map((value) => channel(value))
    expect(text(telemetryPayload(1, given, none))).toBe('T#001,001,002,003,000,000,11100000')
    expect(telemetryDefinitions('N0DE-10', given).map(text)[0]).toBe(
      ':N0DE-10  :PARM.Name,Name,Name,Duty,Hear',
    )
  })

  it('is defined by names, units and equations, as messages to ourselves', () => {
    const given = [
      { ...channel(1, 0.1), name: 'Supply, main', unit: 'volt' },
      { ...channel(1, 0.5, -40), name: 'Outside', unit: 'deg C' },
    ]
    expect(telemetryDefinitions('N0DE-10', given).map(text)).toEqual([
      ':N0DE-10  :PARM.Supply,Outsid,Duty,Heard',
      ':N0DE-10  :UNIT.volt,deg C,pct,pkt',
      ':N0DE-10  :EQNS.0,.1,0,0,.5,-40,0,.5,0,0,1,0',
    ])
    const comma = [{ ...channel(1), name: 'a,b', unit: 'c,d' }]
    expect(telemetryDefinitions('N0DE-10', comma).map(text)).toEqual([
      ...[':N0DE-10  :PARM.a b,Duty,Heard', ':N0DE-10  :UNIT.c d,pct,pkt'],
      ':N0DE-10  :EQNS.0,1,0,0,.5,0,0,1,0',
    ])
  })
})

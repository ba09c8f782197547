import { describe, expect, it } from 'vitest'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import {
  attentionBench as bench,
  frameOf,
  type Given,
  message,
  octetsOf,
  heardWallMs as wallMs,
  withLowerCase,
} from './attentionBench.js'

describe('every frame', () => {
  it('is kept, its station noted, told once, and given to whom it concerns, in this order', () => {
    const { hear, kept, stations, told, done } = bench()
    hear('N0CALL-7>APZ001,DIGI1*,WIDE2-1:>on the hill', { repairedBits: 0 })
    expect(kept).toEqual([
      {
        ...{ heardAtWallMs: wallMs, radio: 2, source: 'N0CALL-7', repairedBits: 0 },
        ...{ octets: expect.any(Uint8Array), detector: 'test', quality: undefined },
      },
    ])
    expect(stations).toEqual([
      {
        ...{ call: 'N0CALL-7', atWallMs: wallMs, radio: 2, via: ['DIGI1'], quality: undefined },
        ...{ position: undefined, symbol: undefined, weather: undefined, status: 'on the hill' },
      },
    ])
    expect(told).toEqual([
      [
        ...['heard', 'status: on the hill'],
        { radio: 2, station: 'N0CALL-7', reason: 'nothing asked' },
      ],
    ])
    expect(done).toEqual([
      ['bulletin', 'N0CALL-7'],
      ['noticed', 'N0CALL-7'],
      ['outbox heard', 'N0CALL-7'],
      ['mail heard', 'N0CALL-7', 2],
      ['act heard', 'N0CALL-7'],
    ])
  })

  it('of octets that are no frame is kept without a source, and ignored', () => {
    const { attend, kept, told, done } = bench()
    attend(frameOf(Uint8Array.of(1, 2, 3)))
    expect(kept).toMatchObject([{ source: '', octets: Uint8Array.of(1, 2, 3) }])
    expect(told).toEqual([
      [
        ...['ignored', '3 octets'],
        { radio: 2, station: undefined, reason: expect.stringMatching(/./) },
      ],
    ])
    expect(done).toEqual([])
  })

  it('from what is no call sign is kept and ignored', () => {
    const { attend, kept, told, stations } = bench()
    const octets = withLowerCase(octetsOf('N0CALL-7>APZ001:>x'))
    attend(frameOf(octets))
    expect(kept).toMatchObject([{ source: 'a0CALL-7' }])
    const reason = "'a0CALL-7' is not a call sign"
    expect(told).toEqual([
      ['ignored', `${octets.length} octets`, { radio: 2, station: 'a0CALL-7', reason }],
    ])
    expect(stations).toEqual([])
  })

  it('of ours, by whatever way it comes, is ignored', () => {
    const { hear, told, stations, done } = bench()
    hear('N0DE-10>APZRPT,DIGI1*:>ours')
    hear('N0CALL-7>APZ001:}N0DE-10>APZRPT,NET*:>ours')
    // what we passed on ourselves
    hear('N0DE-10>APZRPT,DIGI1*:}N0CALL-8>APZ001,NET*:>theirs')
    const reason = 'our own frame'
    expect(told.map(([kind, , detail]) => [kind, detail])).toEqual([
      ['ignored', { radio: 2, station: 'N0DE-10', reason }],
      ['ignored', { radio: 2, station: 'N0CALL-7', reason }],
      ['ignored', { radio: 2, station: 'N0DE-10', reason }],
    ])
    expect([stations, done]).toEqual([[], []])
  })

  it('that was repaired is told as that; by more than one bit it is only kept', () => {
    const { hear, told, kept, stations } = bench()
    hear('N0CALL-7>APZ001:>one', { repairedBits: 1 })
    hear('N0CALL-7>APZ001:>two', { repairedBits: 2 })
    const detail = { radio: 2, station: 'N0CALL-7' }
    expect(told).toEqual([
      ['repaired', 'status: one', { ...detail, reason: 'repaired by 1 bit' }],
      ['heard', 'status: one', { ...detail, reason: 'nothing asked' }],
      [
        ...['repaired', 'status: two'],
        { ...detail, reason: 'repaired by 2 bits: kept, not acted on' },
      ],
    ])
    expect([kept.length, stations.length]).toEqual([2, 1])
  })

  it('that its code corrected is told as that, and acted on', () => {
    const { hear, reasons } = bench()
    hear('N0CALL-7>APZ001:>a', { code: { kind: 'FX.25', correctedOctets: 3 } as never })
    hear('N0CALL-7>APZ001:>b', { code: { kind: 'IL2P', correctedOctets: 1 } as never })
    hear('N0CALL-7>APZ001:>c', { code: { kind: 'FX.25', correctedOctets: 0 } as never })
    expect(reasons()).toEqual([
      ...['3 octets corrected by FX.25', 'nothing asked'],
      ...['1 octet corrected by IL2P', 'nothing asked', 'nothing asked'],
    ])
  })
})

describe('who else hears of a station', () => {
  const whoHears = (given: Given): string[] => {
    const { hear, done } = bench(given)
    hear('N0CALL-7>APZ001:>x')
    return done.map(([what]) => String(what)).filter((what) => what.endsWith('heard'))
  }

  it('is the outbox always, mailbox and services where the station is spoken to', () => {
    expect(whoHears({})).toEqual(['outbox heard', 'mail heard', 'act heard'])
    expect(whoHears({ options: { answering: false } })).toEqual(['outbox heard'])
    expect(whoHears({ options: { ignored: ['N0CALL'] } })).toEqual(['outbox heard'])
    expect(whoHears({ quiet: '06:00' })).toEqual(['outbox heard'])
  })
})

describe('why nothing is done', () => {
  const reasonOf = (line: string, given: Given = {}): string | undefined => {
    const { hear, reasons, special } = bench(given)
    hear(line)
    expect(special().filter(([what]) => what !== 'via')).toEqual([])
    return reasons()[0]
  }

  it.each([
    ['N0CALL-7>APZ001::BLN1     :x', 'a bulletin is never answered'],
    ['N0CALL-7>APZ001:!broken', expect.stringMatching(/^unreadable: /)],
    ['N0CALL-7>APZ001::N0CALL-7 :PARM.a,b', 'nothing asked'],
    ['N0CALL-7>APZ001:>x', 'nothing asked'],
    [message('hi', 'N0CALL-7', 'N0CALL-8'), 'not addressed to us'],
    [message('hi', 'N0CALL-7', 'ALL'), 'a message to everybody is never answered'],
  ])('%s', (line, reason) => {
    expect(reasonOf(line)).toEqual(reason)
  })

  it('is that answering is off, or that its sender is on the list', () => {
    expect(reasonOf(message('hi'), { options: { answering: false } })).toBe(
      'answering is switched off',
    )
    const listed = 'on the list of stations not to answer'
    expect(reasonOf(message('hi'), { options: { ignored: ['N0CALL'] } })).toBe(listed)
    expect(
      reasonOf('N0GATE>APZ001:}N0CALL-7>APZ001,NET*::N0DE-10  :hi', {
        options: { ignored: ['N0CALL'] },
      }),
    ).toBe(listed)
  })

  it('is the quiet hours, but for the operator, and for what ends a message of ours', () => {
    const quiet = '06:00'
    const until = 'quiet hours until 06:00'
    expect(reasonOf(message('hi'), { quiet })).toBe(until)
    expect(reasonOf(message('?APRSD'), { quiet })).toBe(until)
    expect(reasonOf('N0CALL-7>APZ001:?APRS?', { quiet })).toBe(until)
    for (const line of [message('hi', 'Q1OPS'), message('ack12'), message('rej12')]) {
      const { hear, reasons, special } = bench({ quiet })
      hear(line)
      expect(reasons()).toEqual([undefined])
      expect(special().length).toBeGreaterThan(1)
    }
  })
})

describe('a message to us', () => {
  it('is asked of the conversations, and tells by which way its sender is reached', () => {
    const { hear, special, reasons, clock } = bench()
    clock.advanceTo(700)
    hear(message('echo hi{12', 'N0CALL-7', 'N0DE-10', ',DIGI1*'))
    const payload = {
      ...{ kind: 'message', addressee: 'N0DE-10', text: 'echo hi', number: '12' },
      numberAsSent: '12',
    }
    expect(special()).toEqual([
      ['via', 'N0CALL-7', 700],
      ['short', 'N0CALL-7', false],
      ['asked', 'N0CALL-7', payload, 'us', undefined],
    ])
    expect(reasons()).toEqual([undefined])
  })

  it('that acknowledges one of ours does that first, once', () => {
    const { hear, special } = bench()
    hear(message('echo hi{AB}01'))
    hear(message('echo hi{AB}01', 'N0CALL-7', 'N0DE-10', ',DIGI1*'))
    expect(special().filter(([what]) => what !== 'asked')).toEqual([
      ['via', 'N0CALL-7', 0],
      ['acknowledged', 'N0CALL-7', '01', 'by a message in return'],
      ['short', 'N0CALL-7', true],
      ['via', 'N0CALL-7', 0],
      ['short', 'N0CALL-7', true],
    ])
  })

  it('that only acknowledges or rejects ends ours', () => {
    const { hear, special, reasons } = bench()
    hear(message('ack12'))
    hear(message('rej13'))
    expect(special().filter(([what]) => what !== 'via')).toEqual([
      ['acknowledged', 'N0CALL-7', '12', 'by its receiver'],
      ['rejected', 'N0CALL-7', '13'],
    ])
    expect(reasons()).toEqual([undefined, undefined])
    const unknown = bench({ acknowledges: false })
    unknown.hear(message('ack12'))
    unknown.hear(message('rej13'))
    const reason = 'no message of ours has this number'
    expect(unknown.reasons()).toEqual([reason, reason])
  })

  it('may be to a name of ours, or to a tactical name, for whose holder it is left', () => {
    const names = { nameOf: (name: string) => (name === 'BASE' ? 'Base' : undefined) } as never
    const { hear, special } = bench({
      ...{ parts: { names }, options: { aliases: [{ name: 'INFO', services: [] }] } },
    })
    hear(message('hello', 'N0CALL-7', 'INFO'))
    hear(message('come home{1', 'N0CALL-7', 'BASE'))
    expect(special().filter(([what]) => what === 'asked')).toMatchObject([
      ['asked', 'N0CALL-7', { addressee: 'INFO', text: 'hello' }, 'alias', undefined],
      [
        'asked',
        'N0CALL-7',
        { addressee: 'N0DE-10', text: 'leave Base come home' },
        'us',
        undefined,
      ],
    ])
    // our own call and names stay what they are, whoever holds a name
    const own = bench({ parts: { names: { nameOf: () => 'Base' } as never } })
    own.hear(message('hello'))
    expect(own.special().at(-1)).toMatchObject([
      'asked',
      'N0CALL-7',
      { text: 'hello' },
      'us',
      undefined,
    ])
  })
})

describe('a query', () => {
  const directs = [{ kind: 'message', text: 'Directs= none in the last hour' }]

  it('to us is answered, a copy of it is not', () => {
    const { hear, special, reasons } = bench()
    hear(message('?APRSD'))
    hear(message('?APRSD', 'N0CALL-7', 'N0DE-10', ',DIGI1*'))
    expect(special().filter(([what]) => what !== 'via')).toEqual([['query', 'N0CALL-7', directs]])
    expect(reasons()).toEqual([undefined, 'copy of a frame heard before'])
  })

  it('to us with a number goes on each time, and may acknowledge one of ours', () => {
    const { hear, special } = bench()
    hear(message('?APRSD{12'))
    hear(message('?APRSD{12'))
    hear(message('?APRSD{12}34'))
    hear(message('?APRSD{12}'))
    expect(special().filter(([what]) => what !== 'via')).toEqual([
      ['query', 'N0CALL-7', directs],
      ['query', 'N0CALL-7', directs],
      ['acknowledged', 'N0CALL-7', '34', 'by a message in return'],
      ['query', 'N0CALL-7', directs],
      ['query', 'N0CALL-7', directs],
    ])
  })

  it('to everybody is answered, a copy of it is not', () => {
    const { hear, special, reasons } = bench()
    hear('N0CALL-7>APZ001:?APRS?')
    hear('N0CALL-7>APZ001,DIGI1*:?APRS?')
    hear('N0CALL-7>APZ001:?WX?')
    expect(special()).toEqual([
      [
        ...['query', 'N0CALL-7'],
        [
          { kind: 'beacon', beacon: 'position' },
          { kind: 'beacon', beacon: 'status' },
        ],
      ],
      [
        ...['query', 'N0CALL-7'],
        [{ kind: 'none', reason: 'the query WX is for other kinds of stations' }],
      ],
    ])
    expect(reasons()).toEqual([undefined, 'copy of a frame heard before', undefined])
  })

  it('for weather is answered where there is an instrument', () => {
    const { beacons } = defaultNodeOptions({ call: 'N0DE-10' })
    const weather = async () => undefined
    const { hear, special } = bench({ options: { beacons: { ...beacons, weather } } })
    hear('N0CALL-7>APZ001:?WX?')
    expect(special()).toEqual([['query', 'N0CALL-7', [{ kind: 'beacon', beacon: 'weather' }]]])
  })
})

describe('copies', () => {
  it('are known for 28 s, by sender, destination and payload, and not taken twice', () => {
    const { hear, clock, done } = bench()
    const marks = () => done.filter(([what]) => what === 'noticed' || what === 'bulletin').length
    hear('N0CALL-7>APZ001::BLN1     :x')
    clock.advanceTo(28_000)
    hear('N0CALL-7>APZ001,DIGI1*::BLN1     :x')
    expect(marks()).toBe(2)
    hear('N0CALL-7>APZ002::BLN1     :x')
    hear('N0CALL-8>APZ001::BLN1     :x')
    hear('N0CALL-7>APZ001::BLN2     :x')
    expect(marks()).toBe(8)
    clock.advanceTo(28_001)
    hear('N0CALL-7>APZ001::BLN1     :x')
    expect(marks()).toBe(10)
  })
})

describe('a call for help', () => {
  const call = { sign: 'EMERGENCY', exercise: false, text: 'EMERGENCY' }
  const lately = 'was answered lately'

  it('that is no message to us is answered unasked, its copies not', () => {
    const status = bench({ call })
    status.hear('N0CALL-7>APZ001:>EMERGENCY')
    status.hear('N0CALL-7>APZ001,DIGI1*:>EMERGENCY')
    expect(status.special()).toEqual([['answered unasked', 'N0CALL-7']])
    // of a copy it is only known that nothing was asked
    expect(status.reasons()).toEqual([lately, 'nothing asked'])
    const group = bench({ call })
    group.hear(message('EMERGENCY', 'N0CALL-7', 'ALL'))
    group.hear(message('EMERGENCY', 'N0CALL-7', 'ALL', ',DIGI1*'))
    expect(group.special()).toEqual([['answered unasked', 'N0CALL-7']])
    expect(group.reasons()).toEqual([lately, 'copy of a frame heard before'])
  })

  it('to us is asked of the conversations, in quiet hours, too, as are its copies', () => {
    const { hear, special, done } = bench({ call, quiet: '06:00' })
    hear(message('EMERGENCY{1'))
    hear(message('EMERGENCY{1', 'N0CALL-7', 'N0DE-10', ',DIGI1*'))
    const asked = special().filter(([what]) => what === 'asked')
    expect(asked.map((one) => one[4])).toEqual([call, { ...call, sign: 'emergency' }])
    expect(done.filter(([what]) => what === 'noticed')).toHaveLength(1)
  })

  it('to somebody else is not for us, nor is one where nothing is answered', () => {
    const other = bench({ call })
    other.hear(message('EMERGENCY', 'N0CALL-7', 'N0CALL-8'))
    const off = bench({ call, options: { answering: false } })
    off.hear('N0CALL-7>APZ001:>EMERGENCY')
    expect([other.special(), off.special()]).toEqual([[], []])
    expect([other.reasons(), off.reasons()]).toEqual([
      ...[['not addressed to us'], ['answering is switched off']],
    ])
  })

  it('with words that nobody can read is one all the same', () => {
    const { hear, special } = bench({ call })
    hear('N0CALL-7>APZ001:!broken')
    expect(special()).toEqual([['answered unasked', 'N0CALL-7']])
  })
})

import { describe, expect, it } from 'vitest'
import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { clockService } from '../../src/services/clock.js'
import { heardService } from '../../src/services/heard.js'
import type { HeardStation, ServiceContext } from '../../src/services/service.js'
import { signalService } from '../../src/services/signal.js'
import { sunService } from '../../src/services/sun.js'
import { whereService } from '../../src/services/where.js'
import { answerOf, testContext } from './testContext.js'

const minute = 60_000
const hour = 60 * minute
const now = testContext().clock.wallMs()
const options = { positionAgeMaxMs: 12 * hour }
const askerPosition = { latitudeDeg: 45.2, longitudeDeg: -36.8, ageMs: 0 }

const quality: SignalQuality = {
  levelDbfs: -14.3,
  toneBalanceDb: -1,
  toneOffsetHz: 4,
  symbolRateErrorPpm: 60,
  ebN0Db: 21.4,
  eyeOpening: 0.8,
  clippedShare: 0,
  preambleFlags: 40,
}

function heard(call: string, agoMs: number, more: Partial<HeardStation> = {}): HeardStation {
  return { call, lastHeardWallMs: now - agoMs, via: ['direct'], frameCount: 3, quality, ...more }
}

function withStations(stations: readonly HeardStation[], more: Partial<ServiceContext> = {}) {
  const newest = [...stations].sort((a, b) => b.lastHeardWallMs - a.lastHeardWallMs)
  return testContext({
    askerPosition,
    stations: {
      find: (call) => stations.find((one) => one.call === call),
      recent: (count) => newest.slice(0, count),
      weather: () => [],
      signals: () => [],
    },
    ...more,
  })
}

const place = (latitudeDeg: number, longitudeDeg: number, agoMs: number) => ({
  position: { latitudeDeg, longitudeDeg, atWallMs: now - agoMs },
})

describe('heard', () => {
  const service = heardService(options)
  const world = withStations([
    heard('N0CALL-7', 0),
    heard('N0CALL-10', 0),
    heard('Q1KIT-9', 12 * minute, place(45.3, -36.7, 12 * minute)),
    heard('Q1KIT', 3 * hour, { via: ['Q1DIG-1', 'Q1DIG-2'], frameCount: 1 }),
    heard('Q1OLD-3', 50 * hour),
  ])

  it('lists who was heard, newest first, without the asker and the node', async () => {
    expect(await answerOf(service, '', world)).toEqual([
      'Heard: Q1KIT-9 12min ago, Q1KIT 3h, Q1OLD-3 2d',
    ])
    expect(await answerOf(service, '')).toEqual(['Nobody but you was heard here yet.'])
  })

  it('tells when and how one was heard', async () => {
    expect(await answerOf(service, 'q1kit-9', world)).toEqual([
      'Q1KIT-9 12min ago direct, Eb/N0 21dB, 3 frames, 14km NE of you',
    ])
    expect(await answerOf(service, 'Q1KIT', world)).toEqual([
      'Q1KIT 3h ago via Q1DIG-1,Q1DIG-2, 1 frame',
    ])
  })

  it('takes a call without SSID for whichever was heard last', async () => {
    expect((await answerOf(service, 'q1old', world))[0]).toMatch(/^Q1OLD-3 2d ago/)
  })

  it('says what it does not know, and what is no call', async () => {
    expect(await answerOf(service, 'q1new', world)).toEqual(['Q1NEW was not heard here.'])
    expect(await answerOf(service, 'Q1EVERYBODY', world)).toEqual([
      '"Q1EVERYBODY" is not a call sign. Send e.g. heard N0CALL-7',
    ])
  })

  it('keeps a long list to two messages', () => {
    expect(service.messagesMax!({} as never)).toBe(2)
  })
})

describe('where', () => {
  const service = whereService(options)
  const world = withStations([
    heard('Q1KIT-9', minute, place(45.3, -36.7, 12 * minute)),
    heard('Q1MUM', 5 * minute),
  ])

  it('gives distance, direction, bearing, locator and age', async () => {
    expect(await answerOf(service, 'Q1KIT', world)).toEqual([
      'Q1KIT-9: 14km NE of you, bearing 35deg, HN15ph, 12min ago',
    ])
  })

  it('what is nearer than a position on the air can tell is no distance', async () => {
    // A step of 0.01 minute of latitude is 18.5 m.
    const near = (steps: number) =>
      withStations([heard('Q1NEAR', minute, place(45.2 + (steps * 0.01) / 60, -36.8, minute))])
    expect(await answerOf(service, 'Q1NEAR', near(1))).toEqual([
      expect.stringMatching(/^Q1NEAR: beside you, HN15/),
    ])
    expect(await answerOf(service, 'Q1NEAR', near(2))).toEqual([
      expect.stringMatching(/^Q1NEAR: 40m N of you, bearing 0deg, /),
    ])
    const old = { ...near(1), askerPosition: { ...askerPosition, ageMs: 3 * hour } }
    expect((await answerOf(service, 'Q1NEAR', old))[0]).toMatch(/: beside you 3h ago, /)
    const atNode = withStations([heard('Q1NEAR', minute, place(45.2, -36.8, minute))], {
      askerPosition: undefined,
    })
    expect((await answerOf(service, 'Q1NEAR', atNode))[0]).toMatch(/: at the node, /)
  })

  it('knows where the node is', async () => {
    expect(await answerOf(service, 'N0CALL-10', world)).toEqual(['N0CALL-10: beside you, HN15oe'])
    const unknown = { ...world, askerPosition: undefined }
    expect(await answerOf(service, 'n0call', unknown)).toEqual(['N0CALL-10: HN15oe'])
  })

  it('says what it lacks', async () => {
    expect(await answerOf(service, '', world)).toEqual(['Where is who? Send e.g. where N0CALL-7'])
    expect(await answerOf(service, 'Q1MUM', world)).toEqual([
      'Q1MUM has sent no position. Heard 5min ago.',
    ])
    expect(await answerOf(service, 'Q1NEW', world)).toEqual(['Q1NEW was not heard here.'])
    expect((await answerOf(service, 'everybody', world))[0]).toMatch(/is not known here/)
  })
})

describe('signal', () => {
  const others = [heard('Q1A', 1), heard('Q1B', 2), heard('Q1C', 3)]
  const world = (measured: readonly Partial<SignalQuality>[], agoMs = 0) => {
    const base = withStations([heard('N0CALL-7', agoMs), ...others])
    const signals = () =>
      measured.map((one) => ({ atWallMs: now - agoMs, quality: { ...quality, ...one } }))
    return { ...base, stations: { ...base.stations, signals } }
  }

  it('gives the means of the last frames', async () => {
    expect(await answerOf(signalService, '', world([{}, { ebN0Db: 19.4 }]))).toEqual([
      'Last 2 frames: Eb/N0 20dB, -14dBFS, space -1dB, offset +4Hz',
      'Your signal is good: change nothing.',
    ])
    expect((await answerOf(signalService, '', world([{}], 2 * hour)))[0]).toMatch(
      /^Last 1, 2h ago: Eb/,
    )
  })

  it.each([
    [{ toneBalanceDb: -7.2 }, '2200 Hz tone 7 dB low: use pre-emphasis or a flat input'],
    [{ toneBalanceDb: 6 }, '2200 Hz tone 6 dB high: pre-emphasis is on twice?'],
    [{ levelDbfs: -6 }, '8 dB louder than others: lower your audio'],
    [{ levelDbfs: -24 }, '10 dB weaker than others: raise your audio'],
    [{ toneOffsetHz: 55 }, 'Your tones are +55 Hz off: the modem may need service'],
    [{ symbolRateErrorPpm: -12_000 }, 'Your bit rate is -1.2% off: the modem may need service'],
    [{ preambleFlags: 6 }, 'Short preamble: raise your TX delay'],
    [{ ebN0Db: 7 }, 'Weak here: more height, power or a better place'],
    [{ clippedShare: 0.05 }, 'Audio clips here: lower your deviation'],
  ])('advises on %o', async (fault, advice) => {
    expect((await answerOf(signalService, '', world([fault])))[1]).toBe(advice)
  })

  it('at 9600 bit/s there are no tones to speak of', async () => {
    const at9600 = {
      bitRate: 9600,
      toneBalanceDb: -8,
      preambleFlags: 200,
      toneOffsetHz: 0,
    } as const
    // An older one at 1200 counts for nothing.
    expect(await answerOf(signalService, '', world([at9600, { toneOffsetHz: 90 }]))).toEqual([
      'Last frame: Eb/N0 21dB, -14dBFS, 4 kHz -8dB',
      '4 kHz is 8 dB off: 9600 wants a flat input',
    ])
    const short = { ...at9600, toneBalanceDb: 0, preambleFlags: 100 }
    expect((await answerOf(signalService, '', world([short])))[1]).toMatch(/^Short preamble/)
  })

  it('advises on the two gravest at most', async () => {
    const [, advice] = await answerOf(
      signalService,
      '',
      world([{ toneBalanceDb: -9, ebN0Db: 6, preambleFlags: 3, toneOffsetHz: 90 }]),
    )
    expect(advice).toMatch(/^2200 Hz tone 9 dB low: .*\. Your tones are \+90 Hz/)
  })

  it('says why it has measured nothing', async () => {
    expect(await answerOf(signalService, '')).toEqual(['You were not heard here yet.'])
    const via = withStations([heard('N0CALL-7', 0, { via: ['Q1DIG-1'] })])
    expect(await answerOf(signalService, '', via)).toEqual([
      'Not heard direct, only via Q1DIG-1: no figures. Send without path',
    ])
    const external = withStations([heard('N0CALL-7', 0, { quality: undefined })])
    expect((await answerOf(signalService, '', external))[0]).toMatch(/this radio gives no figures/)
  })
})

describe('clock', () => {
  it('gives local time, UTC, its source, and both locators', async () => {
    const asker = { ...askerPosition, ageMs: 20 * minute }
    expect(await answerOf(clockService, '', testContext({ askerPosition: asker }))).toEqual([
      '2026-06-21 14:00:00 UTC-2 (16:00:00 UTC), not checked',
      'N0CALL-10 is in HN15oe. You were in HN15oe, heard 20min ago',
    ])
  })
  it('says UTC once, and nothing of places it does not know', async () => {
    const node = { ...testContext().node, utcOffsetMinutes: 0, position: undefined }
    expect(await answerOf(clockService, '', testContext({ node }))).toEqual([
      '2026-06-21 16:00:00 UTC, not checked',
    ])
  })
  it.each([
    ['GPS', /, by GPS/],
    ['system, off', /, wrong by GPS/],
  ])('says how far it can be relied on: %s', async (timeSource, words) => {
    const node = { ...testContext().node, timeSource }
    expect((await answerOf(clockService, '', testContext({ node })))[0]).toMatch(words)
  })
  it('knows half hours', async () => {
    const node = { ...testContext().node, utcOffsetMinutes: 330 }
    expect((await answerOf(clockService, '', testContext({ node })))[0]).toMatch(
      /^2026-06-21 21:30:00 UTC\+5:30 /,
    )
  })
})

describe('sun', () => {
  const service = sunService(options)
  const at = (iso: string, latitudeDeg: number, longitudeDeg: number, utcOffsetMinutes: number) =>
    testContext({
      clock: virtualClock(Date.parse(iso)),
      askerPosition: { latitudeDeg, longitudeDeg, ageMs: 0 },
      node: { ...testContext().node, utcOffsetMinutes },
    })

  // Rise and set of 2024-09-22 at 40 N 75 W are rows of sunrise_computed in geo-sky.json, the moon's is its 2024 row.
  it('gives the day of the asker', async () => {
    expect(await answerOf(service, '', at('2024-09-22T12:00:00Z', 40, -75, -240))).toEqual([
      'Today at you: dawn 06:21 rise 06:48 set 18:56 dusk 19:23 UTC-4',
      expect.stringMatching(/^Moon \d+% lit, waning, last quarter on 24 Sep$/),
    ])
    expect((await answerOf(service, '', at('2024-04-22T12:00:00Z', 40, -75, 0)))[1]).toMatch(
      /^Moon 9\d% lit, waxing, full on 23 Apr$/,
    )
  })

  it('gives tomorrow once it is dark', async () => {
    expect((await answerOf(service, '', at('2024-09-22T23:50:00Z', 40, -75, -240)))[0]).toMatch(
      /^Tomorrow at you: dawn 06:22 rise 06:49 set 18:54 /,
    )
  })

  it('knows days without night and nights without day', async () => {
    expect((await answerOf(service, '', at('2024-06-21T10:00:00Z', 69.65, 18.96, 120)))[0]).toBe(
      'Today at you: sun up all day. Moon 99% lit, waxing, full on 22 Jun',
    )
    expect((await answerOf(service, '', at('2024-12-21T10:00:00Z', 69.65, 18.96, 60)))[0]).toMatch(
      /^Today at you: dawn \d\d:\d\d sun does not rise dusk \d\d:\d\d UTC\+1$/,
    )
  })

  it('tells the moon even where it does not know the place', async () => {
    const node = { ...testContext().node, position: undefined }
    const answer = await answerOf(service, '', testContext({ node }))
    expect(answer[0]).toMatch(/^Where are you\?/)
    expect(answer[1]).toMatch(/^Moon /)
  })
})

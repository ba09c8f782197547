import { describe, expect, it } from 'vitest'
import { type AskersResult, runAskers } from './askers.js'

const minuteMs = 60_000
const lastsMs = 25 * minuteMs
const faultsOf = ({ events }: AskersResult) => events.filter(({ kind }) => kind === 'fault')

describe('many who ask at once, at 20 % duty, none acknowledging', () => {
  // Those of seeds 1 to 20 in which it was hardest; `npm run bench -- askers` runs all.
  it.each([4, 8, 18])(
    '300 in ten minutes, seed %i: at least 170 get their whole answer, and little is sent in vain',
    async (seed) => {
      const result = await runAskers({ seed, askerCount: 300, withinMs: 10 * minuteMs, lastsMs })
      const { usefulShare, wholeCount } = result
      expect(faultsOf(result)).toEqual([])
      expect(usefulShare).toBeGreaterThanOrEqual(0.75)
      expect(wholeCount).toBeGreaterThanOrEqual(170)
      expect(result.left).toEqual([])
    },
  )

  it('1,000 in a minute: at least 95 get their whole answer; who is not answered is not acknowledged', async () => {
    const result = await runAskers({ seed: 1, askerCount: 1_000, withinMs: minuteMs, lastsMs })
    const { frames, usefulShare, wholeCount, askings } = result
    console.log(`1,000 in a minute: ${wholeCount} answered, ${JSON.stringify(frames)}`)
    expect(faultsOf(result)).toEqual([])
    expect(usefulShare).toBeGreaterThanOrEqual(0.75)
    expect(wholeCount).toBeGreaterThanOrEqual(95)
    expect(result.left).toEqual([])
    const unanswered = askings.filter(({ parts }) => parts.size === 0)
    expect(unanswered.filter(({ acknowledgedMs }) => acknowledgedMs !== undefined)).toEqual([])
    // and the state says what became of them
    const [most] = result.state.endings
    expect(most).toMatchObject({ what: 'not acknowledged', count: unanswered.length })
    expect(most?.reason).toContain('no airtime is left')
  })

  it('60 in ten minutes: all are acknowledged within a minute, and answered', async () => {
    const options = { seed: 1, askerCount: 60, withinMs: 10 * minuteMs, lastsMs }
    const result = await runAskers(options)
    const waits = result.askings.map(({ askedMs, acknowledgedMs }) => acknowledgedMs! - askedMs)
    expect(Math.max(...waits)).toBeLessThan(minuteMs)
    expect(result.wholeCount).toBe(60)
  })

  it('answers of two messages are finished before others are begun', async () => {
    const options = { seed: 2, askerCount: 150, withinMs: 5 * minuteMs, lastsMs }
    const result = await runAskers({ ...options, messages: () => 2 })
    expect(faultsOf(result)).toEqual([])
    expect(result.frames.unfinished).toBeLessThanOrEqual(5)
    expect(result.wholeCount).toBeGreaterThan(60)
    for (const { parts, call } of result.askings) {
      const [first, second] = [parts.get(1)?.atMs, parts.get(2)?.atMs]
      if (second !== undefined) expect(first, call).toBeLessThanOrEqual(second)
    }
  })
})

/** Everything that may differ from one busy afternoon to the next. */
async function randomSchedule(seed: number): Promise<AskersResult> {
  const chance = (low: number, high: number): number =>
    low + (((seed * 7919 + low * 104_729 + high * 1_299_709) % 1_000) / 1_000) * (high - low)
  return runAskers({
    seed,
    askerCount: Math.round(chance(5, 150)),
    withinMs: chance(20_000, 500_000),
    lastsMs: 40 * minuteMs,
    dutyShare: chance(0.03, 0.6),
    messages: (random) => 1 + Math.floor(3 * random()),
    questionsEach: (random) => 1 + Math.floor(1.5 * random()),
    acknowledging: chance(0, 1),
    repeating: seed % 2 === 0,
    nodeOptions: { answers: { shortWhenBusy: seed % 3 === 0, window: 1 + (seed % 4) } },
    // others talk on the channel, now and then for long
    disturb: ({ clock, channel, random }) => {
      const shareBusy = chance(0, 0.7)
      const talk = (): void => {
        if (clock.monotonicMs() > 20 * minuteMs) return
        const lengthMs = 500 + 20_000 * random() ** 4
        channel.transmit('Q0OTHER', lengthMs, [])
        clock.at(clock.monotonicMs() + lengthMs / Math.max(0.05, shareBusy), talk)
      }
      if (seed % 3 !== 1) talk()
    },
  })
}

describe('nobody is acknowledged and then left without an answer or a refusal', () => {
  // All thousand: ASKERS_SCHEDULES=1000 npx vitest run test/simulation/askers.test.ts
  const scheduleCount = Number(process.env.ASKERS_SCHEDULES ?? 25)

  it(`in ${scheduleCount} random schedules`, { timeout: 3_600_000 }, async () => {
    let acknowledgedCount = 0
    // 46: the time of an answer was over between its parts
    const seeds = new Set([...Array.from({ length: scheduleCount }, (_, index) => index + 1), 46])
    for (const seed of seeds) {
      const result = await randomSchedule(seed)
      expect(faultsOf(result), `seed ${seed}`).toEqual([])
      expect(result.left, `seed ${seed}`).toEqual([])
      acknowledgedCount += result.askings.filter((one) => one.acknowledgedMs !== undefined).length
      for (const { parts, call, number } of result.askings) {
        const times = [1, 2, 3].map((part) => parts.get(part)?.atMs)
        const seen = times.filter((atMs) => atMs !== undefined)
        expect(seen, `seed ${seed}: parts of ${call} ${number}`).toEqual(
          [...seen].sort((a, b) => a - b),
        )
        if (seen.length > 0) expect(times[0], `seed ${seed}: ${call} ${number}`).toBeDefined()
      }
    }
    expect(acknowledgedCount).toBeGreaterThan(20 * scheduleCount)
  })
})

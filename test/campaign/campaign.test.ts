import { describe, expect, it } from 'vitest'
import { formatStimulus, runDay } from './day.js'
import { hourMs, planSchedule } from './schedule.js'

const hours = 3

describe('a few hours with faults and a hostile station', () => {
  // Days, as many as wanted, with what a failure comes down to: npm run bench -- campaign --days 100 --seed 1
  it.each([[1], [2]])('seed %i: every promise holds', async (seed) => {
    const stimuli = planSchedule({ seed, hours })
    const { broken, checked, questions } = await runDay({ seed, stimuli, untilMs: hours * hourMs })
    const lately = stimuli.filter(({ atMs }) => atMs <= (broken[0]?.atMs ?? 0)).slice(-20)
    expect(broken[0], lately.map(formatStimulus).join('\n')).toBeUndefined()
    expect(questions).toBeGreaterThan(20 * hours)
    expect(checked['a stranger is answered within two minutes']).toBe(hours)
    expect(checked['what is read over a connection is whole']).toBeGreaterThan(2 * hours)
  })
})

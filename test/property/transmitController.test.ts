import { describe, expect, it } from 'vitest'
import { runSchedule } from './transmitSchedule.js'

/** By hand: SCHEDULES=100000 npx vitest run test/property/transmitController.test.ts */
const scheduleCount = Number(process.env.SCHEDULES ?? 4000)

describe('transmit controller, random schedules', () => {
  it(`keeps every rule in ${scheduleCount} of them`, { timeout: 0 }, () => {
    const totals: Record<string, number> = {}
    for (let seed = 1; seed <= scheduleCount; seed++) {
      const { broken, counts } = runSchedule(seed)
      expect(broken, `seed ${seed}: runSchedule(${seed}) replays it`).toEqual([])
      for (const [what, count] of Object.entries(counts)) totals[what] = (totals[what] ?? 0) + count
    }
    // The schedules must have been worth something: everything that can happen did.
    for (const what of [
      'queued',
      'held',
      'sent',
      'refused',
      'expired',
      'cut',
      'identified',
      'hold',
    ])
      expect(totals[what], what).toBeGreaterThan(scheduleCount / 4)
  })
})

import { runDay } from './day.js'
import type { LiveDay } from './dayWorkers.js'
import { hourMs, planSchedule } from './schedule.js'

export const dayHours = 24

/** In this process. */
export const liveDay: LiveDay = async (seed) => {
  const before = process.cpuUsage()
  const stimuli = planSchedule({ seed, hours: dayHours })
  const day = await runDay({ seed, stimuli, untilMs: dayHours * hourMs })
  // A day is made of promises alone: what the system had to tell comes now, and lets go of its lives.
  await new Promise((resolve) => setImmediate(resolve))
  const { user, system } = process.cpuUsage(before)
  return { day, cpuS: (user + system) / 1e6 }
}

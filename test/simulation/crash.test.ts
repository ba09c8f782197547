import { existsSync, mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { crashRun } from '../../src/simulation/crashRun.js'

const entry = join(import.meta.dirname, '../../dist/src/simulation/crashNode.js')

/** Real time, on purpose: where within its work a process is killed is nothing that a virtual clock decides. */
const spinMs = (ms: number): void => {
  const end = process.hrtime.bigint() + BigInt(Math.round(ms * 1e6))
  while (process.hrtime.bigint() < end) {
    // burn
  }
}

describe('kill -9', () => {
  const seed = Number(process.env.SIMULATION_SEED ?? 1)
  // Starting a process costs more than all else here: the whole run, 200 kills in 1,000 questions, is part of
  // `npm run bench simulation`, or: SIMULATION_KILLS=200 SIMULATION_QUESTIONS=1000 npx vitest run test/simulation/crash
  const killCount = Number(process.env.SIMULATION_KILLS ?? 40)
  const questionCount = Number(process.env.SIMULATION_QUESTIONS ?? 200)

  it(`${killCount} times in a run of ${questionCount} questions: nothing acknowledged is missing, nothing comes twice (seed ${seed})`, {
    timeout: 900_000,
  }, async () => {
    expect(existsSync(entry), `${entry}: build first: npx tsc -p tsconfig.json`).toBe(true)
    const file = join(mkdtempSync(join(tmpdir(), 'ridgepost-crash-')), 'node.db')
    const result = await crashRun({
      seed,
      questionCount,
      stationCount: 20,
      lossShare: 0.3,
      thinkMs: 400_000,
      file,
      entry,
      killCount,
      // spread over the steps, of which a question takes some 12
      killShare: (1.5 * killCount) / (12 * questionCount),
      spinMs,
    })
    const { figures, killMoments } = result
    console.log(
      `seed ${seed}: ${result.killCount} kills ${JSON.stringify(killMoments)} in ${result.stepCount} steps; ` +
        `${figures.answered} of ${figures.questions} questions answered, ${figures.mailDelivered} of ${figures.mailLeft} ` +
        `messages delivered; not answered: ${JSON.stringify(figures.givenUp)}`,
    )
    expect(result.problems, `seed ${seed}`).toEqual([])
    expect(result.killCount).toBe(killCount)
    expect(figures.mailDelivered).toBeGreaterThan(questionCount / 50)
  })
})

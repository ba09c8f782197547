import { describe, expect, it } from 'vitest'
import { runSimulation } from '../../src/simulation/runSimulation.js'

describe('many stations on one lossy channel', () => {
  // Another seed: SIMULATION_SEED=7 npx vitest run test/simulation/simulation.test.ts
  const seed = Number(process.env.SIMULATION_SEED ?? 1)

  it(`1,000 questions from 20 stations, 30 % of frames lost each way (seed ${seed})`, async () => {
    const result = await runSimulation({
      seed,
      questionCount: 1_000,
      stationCount: 20,
      lossShare: 0.3,
      thinkMs: 400_000,
    })
    const { figures } = result
    console.log(
      `seed ${seed}: ${figures.questions} questions, ${figures.answered} answered, ` +
        `${Math.round(figures.channelMsPerAnswered)} ms of channel per answered question ` +
        `(${Math.round(figures.nodeMsPerAnswered)} ms of it the node's), ` +
        `${figures.mailDelivered} of ${figures.mailLeft} messages delivered; not answered: ` +
        JSON.stringify(figures.givenUp),
    )
    expect(result.problems, `seed ${seed}`).toEqual([])
    expect(figures.questions).toBeGreaterThanOrEqual(1_000)
    // Every question has one end: answered, or given up for a reason that is counted.
    const givenUp = Object.values(figures.givenUp).reduce((sum, count) => sum + count, 0)
    expect(figures.answered + givenUp, `seed ${seed}`).toBe(figures.questions)
    // Sanity of the run itself: most people get their answer, mail moves.
    expect(figures.answered / figures.questions).toBeGreaterThan(0.85)
    expect(figures.mailLeft).toBeGreaterThan(50)
    expect(figures.mailDelivered / figures.mailLeft).toBeGreaterThan(0.95)
  })

  it(`no losses, one station: everything is answered (seed ${seed})`, async () => {
    const { problems, figures } = await runSimulation({
      seed,
      questionCount: 60,
      stationCount: 1,
      lossShare: 0,
    })
    expect(problems, `seed ${seed}`).toEqual([])
    expect(figures.answered / figures.questions).toBeGreaterThan(0.95)
    expect(figures.acknowledged).toBe(figures.questions)
  })

  it(`mail handed over at once instead of on request (seed ${seed})`, async () => {
    const { problems, figures } = await runSimulation({
      seed,
      questionCount: 150,
      stationCount: 8,
      lossShare: 0.3,
      nodeOptions: { mailbox: { deliver: 'at-once', perSender: 50, perReceiver: 50 } },
    })
    expect(problems, `seed ${seed}`).toEqual([])
    expect(figures.mailDelivered).toBeGreaterThan(5)
  })

  it('the checkers notice what is wrong', async () => {
    // A node that takes every repetition for a new question answers twice; the checkers must see it.
    const { problems } = await runSimulation({
      seed,
      questionCount: 100,
      stationCount: 8,
      lossShare: 0.3,
      nodeOptions: { copies: { numberedMs: 1 } },
    })
    expect(problems.join('\n')).toMatch(/twice/)
  })
})

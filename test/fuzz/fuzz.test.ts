import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../src/runtime/random.js'
import { readCorpus } from '../bench/fuzz/corpusFile.js'
import { fuzz, type Target } from '../bench/fuzz/engine.js'
import { mutate } from '../bench/fuzz/mutate.js'
import { targets } from '../bench/fuzz/targets.js'
import { root } from '../tidy/sources.js'

/** The sources themselves: without counters, what earlier runs with them found telling is where mutations begin. */
const load = <Module>(path: string): Promise<Module> => import(/* @vite-ignore */ `${root}/${path}`)

describe('hostile octets', () => {
  it.each(Object.keys(targets))('%s: nothing thrown, nothing that hangs', async (name) => {
    const target = await targets[name]!(load, 1)
    const result = await fuzz(target, { runs: 300, seed: 1, corpus: readCorpus(name) })
    expect(result.findings).toEqual([])
    expect(result.runs).toBe(300)
  })

  it('frames: three in ten reach a service, the mailbox or the outbox', async () => {
    const target = await targets.frames(load, 2)
    const { runs } = await fuzz(target, { runs: 300, seed: 2 })
    expect((target.reachedCount ?? 0) / runs).toBeGreaterThan(0.3)
  })
})

describe('the fuzzer itself', () => {
  const mistaken: Target = {
    name: 'mistaken',
    seeds: [Buffer.from('abcdef')],
    words: ['xyz'],
    run(input) {
      if (Buffer.from(input).includes('xyz')) throw new RangeError('a mistake')
    },
  }

  it('tells what was thrown, once, with a short input that does it', async () => {
    const { findings } = await fuzz(mistaken, { runs: 2_000, seed: 1 })
    expect(findings).toHaveLength(1)
    expect(findings[0]!.what).toContain('RangeError: a mistake')
    expect(findings[0]!.input.length).toBeLessThan(12)
  })

  it('goes on from inputs that took new arms: finds what lies three steps deep', async () => {
    const arms = new Uint16Array(4)
    const deep: Target = {
      ...mistaken,
      seeds: [new Uint8Array(8)],
      run(input) {
        for (let at = 0; at < 3; at++) {
          if (input[at] !== 0x40 >> at) return
          arms[at]!++
        }
        throw new Error('three steps deep')
      },
    }
    const guided = await fuzz(deep, { runs: 30_000, seed: 1, arms })
    expect(guided.findings.map(({ what }) => what).join()).toContain('three steps deep')
    expect(guided.telling).toHaveLength(3)
  })

  it('the same seed changes an input in the same way; what stands before `from` stays', () => {
    const change = (seed: number) =>
      mutate(Buffer.from('0123456789'), {
        ...{ random: seededRandom(seed), words: ['w'], other: Buffer.from('other'), from: 5 },
      })
    expect(change(3)).toEqual(change(3))
    for (let seed = 1; seed < 200; seed++)
      expect(Buffer.from(change(seed)).toString('latin1').slice(0, 5)).toBe('01234')
  })
})

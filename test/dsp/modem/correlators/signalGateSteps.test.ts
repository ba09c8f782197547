// Which samples the gate gives to its detector, and from where on, by a detector that writes down what it is told.
import { expect, it } from 'vitest'
import { createSignalGate } from '../../../../dsp/modem/correlators/signalGate.js'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'

function bench() {
  const history = createAudioHistory(20_000)
  history.append(Float32Array.from({ length: 20_000 }, (_, at) => at))
  const told: string[] = []
  const gate = createSignalGate(
    {
      name: 'writes down',
      process: (samples) => told.push(`${samples[0]} to ${samples.at(-1)}`),
      restart: (position) => told.push(`restart ${position}`),
    },
    history,
  )
  /** @returns what the detector is told by that */
  const follow = (position: number, contrast = 0.5): string[] => {
    told.length = 0
    gate.note({ contrast })
    gate.follow(position)
    return [...told]
  }
  return { follow, gate }
}

it('a contrast above 0.77 opens it', () => {
  const { follow } = bench()
  expect(follow(5000, 0.77)).toEqual([])
  expect(follow(5000, 0.771)).toEqual(['restart 3800', '3800 to 4999'])
})

it('a symbol of contrast opens it although others came after it, and once', () => {
  const { follow, gate } = bench()
  gate.note({ contrast: 0.9 })
  expect(follow(5000, 0.3)).toEqual(['restart 3800', '3800 to 4999'])
  expect(follow(6200)).toEqual(['5000 to 6199'])
  expect(follow(6201)).toEqual([])
})

it('it stays open for 0.1 s after the latest, not a sample longer', () => {
  const { follow } = bench()
  follow(5000, 0.9)
  expect(follow(6100, 0.9)).toEqual(['5000 to 6099'])
  expect(follow(7300)).toEqual(['6100 to 7299'])
  expect(follow(7301)).toEqual([])
})

it('what it gave before is not given again: it goes on where it was, without a new start', () => {
  const { follow } = bench()
  follow(5000, 0.9)
  expect(follow(6300)).toEqual([])
  // 1,200 samples before are those where it stopped
  expect(follow(6200, 0.9)).toEqual(['5000 to 6199'])
  expect(follow(7500)).toEqual([])
  expect(follow(7401, 0.9)).toEqual(['restart 6201', '6201 to 7400'])
})

it('at the beginning of the stream there is nothing before', () => {
  const { follow } = bench()
  expect(follow(700, 0.9)).toEqual(['0 to 699'])
})

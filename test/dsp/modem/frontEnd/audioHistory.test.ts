import { expect, it } from 'vitest'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'

const numbers = (from: number, to: number): number[] =>
  Array.from({ length: to - from }, (_, n) => from + n)

/** Sample k of the stream is k + 1, so that none is zero. */
function historyOf(blocks: readonly number[], capacity: number) {
  const history = createAudioHistory(capacity)
  let end = 0
  for (const length of blocks) {
    history.append(Float32Array.from(numbers(end + 1, end + length + 1)))
    end += length
  }
  return { history, end }
}

/** What a history should give, by hand. */
const expected = (from: number, to: number, end: number, capacity: number): number[] =>
  numbers(from, Math.max(from, to)).map((at) =>
    at >= 0 && at < end && at >= end - capacity ? at + 1 : 0,
  )

it.each([
  [[3]],
  [[10]],
  [[7, 7, 7]],
  [[10, 10]],
  [[4, 23]],
  [[25, 3]],
  [[1, 1, 1, 30, 2]],
  [[5, 0, 5, 1]],
])('every segment of the stream, in blocks of %j', (blocks) => {
  const { history, end } = historyOf(blocks, 10)
  expect(history.end).toBe(end)
  for (let from = -12; from <= end + 3; from++)
    for (let to = from - 2; to <= end + 5; to++)
      expect([...history.slice(from, to)]).toEqual(expected(from, to, end, 10))
})

it('a slice is a copy', () => {
  const { history } = historyOf([5], 10)
  history.slice(0, 5).fill(9)
  expect([...history.slice(0, 5)]).toEqual([1, 2, 3, 4, 5])
})

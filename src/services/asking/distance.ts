/**
 * How many letters are wrong between two words: left out, too many, another one, or two in the wrong order (optimal string
 * alignment), looked at only up to a limit.
 * @returns limit + 1 where it is more than the limit
 */
export function lettersWrong(one: string, other: string, limit: number): number {
  if (Math.abs(one.length - other.length) > limit) return limit + 1
  const width = other.length + 1
  // One memory for all calls: a text of strangers' words is held against some thousands of known ones.
  while (rows.length < 3 * width) rows = new Uint16Array(2 * rows.length)
  let beforeLast = 2 * width
  let last = 0
  let current = width
  for (let column = 0; column < width; column++) rows[last + column] = column
  for (let row = 1; row <= one.length; row++) {
    rows[current] = row
    let leastOfRow = row
    for (let column = 1; column < width; column++) {
      const isSame = one[row - 1] === other[column - 1]
      const isSwapped =
        row > 1 &&
        column > 1 &&
        one[row - 1] === other[column - 2] &&
        one[row - 2] === other[column - 1]
      const least = Math.min(
        rows[last + column - 1]! + (isSame ? 0 : 1),
        rows[last + column]! + 1,
        rows[current + column - 1]! + 1,
        isSwapped ? rows[beforeLast + column - 2]! + 1 : Number.POSITIVE_INFINITY,
      )
      rows[current + column] = least
      if (least < leastOfRow) leastOfRow = least
    }
    if (leastOfRow > limit) return limit + 1
    ;[beforeLast, last, current] = [last, current, beforeLast]
  }
  return Math.min(rows[last + other.length]!, limit + 1)
}

/** Three rows of the table, one after the other. */
let rows = new Uint16Array(96)

/** A short word has few wrong letters before it is another one. */
export const wrongLettersMax = (word: string): number =>
  word.length < 5 ? 0 : word.length < 8 ? 1 : 2

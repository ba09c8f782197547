/**
 * How many letters are wrong between two words: left out, too many, another one, or two in the wrong order (optimal string
 * alignment), looked at only up to a limit.
 * @returns limit + 1 where it is more than the limit
 */
export function lettersWrong(one: string, other: string, limit: number): number {
  if (Math.abs(one.length - other.length) > limit) return limit + 1
  let beforeLast: number[] = []
  let last: number[] = []
  for (let column = 0; column <= other.length; column++) last.push(column)
  for (let row = 1; row <= one.length; row++) {
    const current = [row]
    let leastOfRow = row
    for (let column = 1; column <= other.length; column++) {
      const same = one[row - 1] === other[column - 1]
      let least = Math.min(
        last[column - 1]! + (same ? 0 : 1),
        last[column]! + 1,
        current[column - 1]! + 1,
      )
      if (
        row > 1 &&
        column > 1 &&
        one[row - 1] === other[column - 2] &&
        one[row - 2] === other[column - 1]
      )
        least = Math.min(least, beforeLast[column - 2]! + 1)
      current.push(least)
      if (least < leastOfRow) leastOfRow = least
    }
    if (leastOfRow > limit) return limit + 1
    beforeLast = last
    last = current
  }
  return Math.min(last[other.length]!, limit + 1)
}

/** A short word has few wrong letters before it is another one. */
export const wrongLettersMax = (word: string): number =>
  word.length < 5 ? 0 : word.length < 8 ? 1 : 2

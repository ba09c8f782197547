import { type Clock, pause } from '../runtime/clock.js'

/** As flatMap, so many at once, and others first: whoever looks at the page makes nobody else wait for it. */
export async function inParts<From, To>(
  all: readonly From[],
  countAtOnce: number,
  clock: Clock,
  each: (one: From) => readonly To[],
): Promise<To[]> {
  const results: To[] = []
  for (let at = 0; at < all.length; at += countAtOnce) {
    await pause(clock, 0)
    results.push(...all.slice(at, at + countAtOnce).flatMap(each))
  }
  return results
}

/**
 * The shortest list found that still fails: delta debugging, which leaves out halves, then smaller and smaller parts.
 * @param fails tries a list; called at most `triesMax` times
 * @see Zeller and Hildebrandt, Simplifying and Isolating Failure-Inducing Input, 2002 (from memory)
 */
export async function shrink<Item>(
  items: readonly Item[],
  fails: (some: readonly Item[]) => Promise<boolean>,
  triesMax: number,
): Promise<readonly Item[]> {
  let left = items
  let tries = 0
  for (let parts = 2; left.length > 0 && tries < triesMax; ) {
    const size = Math.ceil(left.length / parts)
    let isShorter = false
    for (let from = 0; from < left.length && tries < triesMax; from += size) {
      const without = [...left.slice(0, from), ...left.slice(from + size)]
      tries++
      if (!(await fails(without))) continue
      left = without
      isShorter = true
      break
    }
    if (isShorter) parts = Math.max(2, parts - 1)
    else if (size === 1) break
    else parts = Math.min(left.length, 2 * parts)
  }
  return left
}

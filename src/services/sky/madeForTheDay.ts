import type { ElementSet } from './elementSet.js'

const dayMs = 86_400_000
const made = new WeakMap<
  readonly ElementSet[],
  { readonly day: number; readonly sets: readonly ElementSet[] }
>()

/**
 * Invented satellites have no place of their own in the sky: their elements are taken as made at the same hour of the last day, so
 * that a sample is of use whenever it is tried. Others are left as they are.
 */
export function madeForTheDay(sets: readonly ElementSet[], nowMs: number): readonly ElementSet[] {
  const day = Math.floor(nowMs / dayMs)
  const known = made.get(sets)
  if (known?.day === day) return known.sets
  const moved = sets.some(({ isInvented }) => isInvented)
    ? sets.map((set) => (set.isInvented ? movedTo(set, day) : set))
    : sets
  made.set(sets, { day, sets: moved })
  return moved
}

function movedTo(set: ElementSet, day: number): ElementSet {
  const timeOfDayMs = ((set.epochWallMs % dayMs) + dayMs) % dayMs
  return { ...set, epochWallMs: (day - 1) * dayMs + timeOfDayMs }
}

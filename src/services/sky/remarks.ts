import type { ElementSet } from './elementSet.js'

/** What remarks of an element file say besides the elements. */
export type Remarked = Pick<ElementSet, 'downlinkMHz' | 'isInvented'>

/** Stands in a file of satellites that do not exist, for samples and exercises. */
const invented = /\binvented satellites\b/i

/** '# downlink 145.825 MHz', 'COMMENT Downlink: 435,310' */
const downlink = /\bdownlink\b[^\d\n]{0,20}(\d{2,5}(?:[.,]\d{1,6})?)/i
/** From 10 m to 3 cm, where amateurs listen. */
const [leastMHz, mostMHz] = [28, 10_500] as const

/** The remarks of one set, and those at the head of the file. */
export function remarked(ofSet: string, isInvented: boolean): Remarked {
  const found = downlink.exec(ofSet)?.[1]?.replace(',', '.')
  const downlinkMHz = Number(found)
  return {
    ...(isInvented ? { isInvented: true } : {}),
    ...(downlinkMHz >= leastMHz && downlinkMHz <= mostMHz ? { downlinkMHz } : {}),
  }
}

export const saysInvented = (line: string): boolean => invented.test(line)

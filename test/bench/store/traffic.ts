import type { Random } from '../../../src/runtime/random.js'

/**
 * What a hill hears, in line notation: stations that are heard often and seldom, moving, standing, with weather, through
 * digipeaters or direct.
 * @param stationCount the n-th is heard 1/n as often as the first
 */
export function traffic(
  stationCount: number,
  random: Random,
): () => { line: string; quality: ReturnType<typeof quality> } {
  const weights = Array.from({ length: stationCount }, (_, index) => 1 / (index + 1))
  const total = weights.reduce((sum, weight) => sum + weight, 0)
  let count = 0
  const station = (): number => {
    let left = random() * total
    for (const [index, weight] of weights.entries()) {
      left -= weight
      if (left < 0) return index
    }
    return 0
  }
  return () => {
    count++
    const number = station()
    const call = `Q${number % 10}${letters(number)}-${number % 15}`
    const via = number % 3 === 0 ? '' : ',Q1DIG-1*'
    return {
      line: `${call}>APZ001${via}:${payload(number, count, random)}`,
      quality: quality(random),
    }
  }
}

const letters = (number: number): string =>
  String.fromCharCode(
    65 + (number % 26),
    65 + (Math.floor(number / 26) % 26),
    65 + (Math.floor(number / 676) % 26),
  )

function payload(number: number, count: number, random: Random): string {
  const digits = (count: number, value: number): string =>
    String(Math.floor(value)).padStart(count, '0')
  const minutes = `${digits(2, random() * 60)}.${digits(2, random() * 100)}`
  const place = `45${minutes}N/036${minutes}W`
  if (number % 4 === 0)
    return `!${place}_${digits(3, random() * 360)}/${digits(3, random() * 20)}g010t050r000p000P000h60b10150`
  if (number % 4 === 1)
    return `!${place}>${digits(3, random() * 360)}/${digits(3, random() * 90)}on the road ${count}`
  if (number % 4 === 2) return `>status ${count} of a station on the ridge`
  return `!${place}#relay, 12 V, ${count}`
}

/** Figures with all their digits, as the receiver measures them. */
const quality = (random: Random) => ({
  levelDbfs: -30 + 20 * random(),
  toneBalanceDb: -4 + 8 * random(),
  toneOffsetHz: -40 + 80 * random(),
  symbolRateErrorPpm: -200 + 400 * random(),
  ebN0Db: 6 + 20 * random(),
  eyeOpening: random(),
  clippedShare: 0,
  preambleFlags: Math.floor(30 * random()),
})

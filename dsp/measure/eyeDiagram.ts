import { workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { markHz, spaceHz, symbolRateHz } from '../modem/modulator.js'
import { type ToneSums, toneSums, windowPower } from '../modem/quality/symbolCorrelation.js'

/** How often the decision between the tones went where, over two symbols laid on top of each other. */
export interface EyeDiagram {
  readonly width: number
  readonly height: number
  /** row by row: the top is all mark (1200 Hz), the bottom all space; 0 to 1, the most frequent cell being 1 */
  readonly density: Float32Array
}

const samplesPerSymbol = workingRateHz / symbolRateHz
const columnsPerSample = 4
const height = 48
const width = 2 * samplesPerSymbol * columnsPerSample
/** So many symbols share one estimate of where they begin: a sender 0.3 % off drifts by a tenth of a symbol meanwhile. */
const symbolsTogether = 32

/**
 * The contrast of both tones over a window of one symbol, compensated for their difference in power by half as a receiver
 * does, folded to two symbols. Needs no knowledge of the bits: it works on damaged frames, too.
 * @param audio at the working rate
 */
export function eyeDiagram(audio: Float32Array): EyeDiagram {
  const contrast = contrastOf(audio)
  const counts = new Float32Array(width * height)
  const together = symbolsTogether * samplesPerSymbol
  for (let from = 0; from < contrast.length - samplesPerSymbol; from += together) {
    const to = Math.min(contrast.length - 1, from + together)
    const middle = decidedAt(contrast, from, to)
    for (let n = from; n < to; n++)
      for (let part = 0; part < columnsPerSample; part++) {
        const value = contrast[n]! + ((contrast[n + 1]! - contrast[n]!) * part) / columnsPerSample
        const place = (n - middle + 2.5 * samplesPerSymbol) % (2 * samplesPerSymbol)
        const column = Math.floor(place * columnsPerSample + part) % width
        const row = Math.min(height - 1, Math.floor(((1 - value) / 2) * height))
        counts[row * width + column]!++
      }
  }
  const most = counts.reduce((most, count) => Math.max(most, count), 1)
  return { width, height, density: counts.map((count) => count / most) }
}

/** -1 (all space) to 1 (all mark), about each sample. */
function contrastOf(audio: Float32Array): Float32Array {
  const mark = toneSums(audio, markHz)
  const space = toneSums(audio, spaceHz)
  const [markWeight, spaceWeight] = [weightOf(mark), weightOf(space)]
  return audio.map((_, n) => {
    const [from, to] = [n - samplesPerSymbol / 2, n + samplesPerSymbol / 2]
    const marks = markWeight * windowPower(mark, from, to)
    const spaces = spaceWeight * windowPower(space, from, to)
    return marks + spaces > 0 ? (marks - spaces) / (marks + spaces) : 0
  })
}

/** One over the root of a tone's mean power. */
function weightOf(tone: ToneSums): number {
  let sum = 0
  let count = 1
  for (let from = 0; from + samplesPerSymbol <= tone.count; from += samplesPerSymbol) {
    sum += windowPower(tone, from, from + samplesPerSymbol)
    count++
  }
  return sum > 0 ? 1 / Math.sqrt(sum / count) : 0
}

/** The phase of the symbols' middles: where the contrast is largest. */
function decidedAt(contrast: Float32Array, from: number, to: number): number {
  let best = 0
  let bestSum = -1
  for (let phase = 0; phase < samplesPerSymbol; phase++) {
    let sum = 0
    for (
      let n = from + ((phase - (from % samplesPerSymbol) + samplesPerSymbol) % samplesPerSymbol);
      n < to;
      n += samplesPerSymbol
    )
      sum += Math.abs(contrast[n]!)
    if (sum > bestSum) {
      bestSum = sum
      best = phase
    }
  }
  return best
}

// What the audio of a frame at 9600 bit/s tells, once its bits are known: the response to one bit is fitted to the outputs of the
// matched filter (least squares), and what is left over is noise.
import { addPoint, emptyLine, fitLine } from '../../numbers/lineFit.js'
import { powerDb } from '../../numbers/power.js'
import type { SignalQuality } from '../receivedFrame.js'
import { bitSamples } from './bandEdge.js'
import { halfBits } from './basebandRepair.js'
import { type BitStream, bitMask } from './bits.js'
import { solveSymmetric } from './leastSquares.js'
import { basebandBitRate, pulseCorrelation, pulseEnergy } from './pulse.js'
import { reach } from './refine.js'

/** Bits to each side that the response reaches, each at its middle and half a bit later. */
const responseBits = 3
const responseTaps = 2 * responseBits + 1
/** and an offset */
const size = responseTaps + 1

/** Where the response is looked at for its slope: well within the band, far apart. */
const lowHz = 400
const highHz = 4000

export type BasebandQuality = Omit<SignalQuality, 'clippedShare' | 'preambleFlags' | 'bitRate'>

/** @param bits levels of the frame from its opening flag to its closing one, the first of which is number firstBit of the stream */
export function measureBaseband(
  stream: BitStream,
  firstBit: number,
  bits: Uint8Array,
): BasebandQuality {
  const filtered = halfBits(stream, firstBit, bits.length)
  const [middles, between] = fitResponses(filtered, bits)
  const height = middles.response[responseBits]!
  const amplitude = height / pulseEnergy
  const noise = (middles.residual + between.residual) / 2
  return {
    levelDbfs: powerDb(audioPower(stream, firstBit, bits.length)),
    toneBalanceDb: slopeDb(middles.response, between.response) - ownSlopeDb,
    toneOffsetHz: 0,
    symbolRateErrorPpm: rateErrorPpm(stream, firstBit, bits.length),
    // White noise of density N0 has the variance N0 g(0) bitRate / 2 behind the filter; a bit's energy is g(0) / bitRate.
    ebN0Db: powerDb((amplitude * pulseEnergy) ** 2 / 2 / noise),
    eyeOpening: eyeOpening(filtered, bits, height, middles.offset),
  }
}

interface Response {
  /** by delay in bits, from -responseBits on */
  readonly response: Float64Array
  readonly offset: number
  readonly residual: number
}

/** Of the outputs at the bits' middles, and of those half a bit later: the same bits explain both. */
function fitResponses(filtered: Float64Array, bits: Uint8Array): readonly [Response, Response] {
  const matrix = new Float64Array(size * size)
  const rights = [new Float64Array(size), new Float64Array(size)] as const
  const powers = new Float64Array(2)
  const row = new Float64Array(size).fill(1)
  const rows = Math.max(1, bits.length - 2 * responseBits)
  for (let bit = responseBits; bit < bits.length - responseBits; bit++) {
    for (let tap = 0; tap < responseTaps; tap++) row[tap] = 2 * bits[bit + responseBits - tap]! - 1
    const middle = filtered[reach + 2 * bit]!
    const between = filtered[reach + 2 * bit + 1]!
    powers[0]! += middle * middle
    powers[1]! += between * between
    for (let i = 0; i < size; i++) {
      const sign = row[i]!
      rights[0][i]! += sign * middle
      rights[1][i]! += sign * between
      for (let j = i; j < size; j++) matrix[i * size + j]! += sign * row[j]!
    }
  }
  const solve = (half: 0 | 1): Response => {
    const solution = solveSymmetric(matrix, rights[half])
    const explained = solution.reduce((sum, value, at) => sum + value * rights[half][at]!, 0)
    return {
      response: solution.subarray(0, responseTaps),
      offset: solution[responseTaps]!,
      residual: Math.max(1e-15, (powers[half]! - explained) / Math.max(1, rows - size)),
    }
  }
  return [solve(0), solve(1)]
}

/** Of a response, two values a bit. */
function gainDb(middles: Float64Array, between: Float64Array, hz: number): number {
  let [re, im] = [0, 0]
  const turn = (2 * Math.PI * hz) / basebandBitRate
  for (let tap = 0; tap < responseTaps; tap++)
    for (const half of [0, 1] as const) {
      const time = tap - responseBits + half / 2
      const value = (half === 0 ? middles : between)[tap]!
      re += value * Math.cos(turn * time)
      im -= value * Math.sin(turn * time)
    }
  return powerDb(re * re + im * im)
}

const rateErrorPpm = (stream: BitStream, firstBit: number, count: number): number => {
  const line = emptyLine()
  const first = stream.position[firstBit & bitMask]!
  for (let bit = 0; bit < count; bit++)
    addPoint(line, bit, stream.position[(firstBit + bit) & bitMask]! - first, 1)
  return (bitSamples / fitLine(line).slope - 1) * 1e6
}

const audioPower = (stream: BitStream, firstBit: number, count: number): number =>
  stream.power(
    Math.round(stream.position[firstBit & bitMask]!),
    Math.round(stream.position[(firstBit + count - 1) & bitMask]!),
  )

/** How far 19 of 20 bits are on their side of the middle, in heights; 0 when that is the wrong side. */
function eyeOpening(
  filtered: Float64Array,
  bits: Uint8Array,
  height: number,
  offset: number,
): number {
  const openings = new Float64Array(bits.length)
  for (let bit = 0; bit < bits.length; bit++) {
    const y = (filtered[reach + 2 * bit]! - offset) / height
    openings[bit] = bits[bit] === 1 ? y : -y
  }
  openings.sort()
  return Math.min(1, Math.max(0, openings[Math.floor(openings.length / 20)]!))
}

const slopeDb = (middles: Float64Array, between: Float64Array): number =>
  gainDb(middles, between, highHz) - gainDb(middles, between, lowHz)

/** Of the pulse as it is sent, through its own filter. */
const ownSlopeDb = slopeDb(ownResponse(0), ownResponse(0.5))

function ownResponse(later: number): Float64Array {
  return Float64Array.from({ length: responseTaps }, (_, tap) =>
    pulseCorrelation(tap - responseBits + later),
  )
}

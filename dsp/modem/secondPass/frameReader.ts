// Reading a whole sequence of tones that was decided on: every segment of whole octets, right or not.
import { createHdlcDecoder, type HdlcSegment } from '../../framing/hdlcDecoder.js'
import { isPlausibleRepair } from '../plausible.js'

/** A frame of 400 octets and some room. */
const octetCountMax = 420

/** @returns segments whose places count symbols of the sequence; what was returned before is let go */
export type ReadFrames = (tones: ArrayLike<number>, count: number) => HdlcSegment[]

export function createFrameReader(): ReadFrames {
  let found: HdlcSegment[] = []
  const decoder = createHdlcDecoder({ octetCountMax, wrongFcsToo: true }, (segment) =>
    found.push(segment),
  )
  return (tones, count) => {
    found = []
    decoder.reset()
    for (let k = 1; k < count; k++) decoder.push(tones[k] === tones[k - 1] ? 1 : 0, k + 1)
    return found
  }
}

/** Its check sequence is right, and it looks like what stations send. */
export const isRightAndPlausible = ({ fcsRight, octetsWithFcs }: HdlcSegment): boolean =>
  fcsRight && isPlausibleRepair(octetsWithFcs.subarray(0, -2))

import {
  frameEnd,
  frameEscape,
  returnTypeOctet,
  transposedFrameEnd,
  transposedFrameEscape,
} from './constants.js'

/** One KISS frame, without framing and escapes. */
export interface KissFrame {
  /** 0 to 15; 15 for Return, which ignores it */
  readonly port: number
  /** low nibble of the type octet, 0 to 15; 255 for Return */
  readonly command: number
  readonly data: Uint8Array
}

export const returnCommand = returnTypeOctet

/** Why octets did not become a frame; each only grows. */
export interface KissCounters {
  /** frames handed out */
  frames: number
  /**
   * frames dropped because an escape was followed by neither of its two partners, or by the frame's
   * end
   */
  badEscape: number
  /** frames dropped because they were longer than the limit */
  tooLong: number
  /** frames dropped because their checksum was wrong or missing (only with `checksum`) */
  badChecksum: number
  /** stretches of octets in front of the first frame end, thrown away */
  noise: number
}

export interface KissDecoderOptions {
  /**
   * longest frame taken: type octet and data, unescaped; 2 or more. The paper wants at least 1024
   * octets of data.
   */
  readonly maxOctets: number
  /**
   * the last octet of each frame is the XOR of those before it (multi-drop extension); off by
   * default
   */
  readonly checksum?: boolean
  /**
   * take octets in front of the first frame end as a frame, as the paper's receiver does; off by
   * default
   */
  readonly startInsideFrame?: boolean
}

/** Octets in, frames out; the state lives in the object. */
export interface KissDecoder {
  /** Takes the next octets, cut anywhere, and returns the frames that they completed. */
  push(chunk: Uint8Array): KissFrame[]
  /** Forgets an unfinished frame, as after a reconnection. */
  reset(): void
  readonly counters: Readonly<KissCounters>
}

/**
 * Writes one frame with both its frame ends.
 * @param options.checksum append the XOR of type octet and data (multi-drop extension)
 * @throws RangeError if port or command is out of range
 */
export function encodeKiss(
  frame: KissFrame,
  options: { readonly checksum?: boolean } = {},
): Uint8Array {
  const type = typeOctet(frame)
  const octets: number[] = [frameEnd]
  let sum = type
  pushEscaped(octets, type)
  for (const octet of frame.data) {
    sum ^= octet
    pushEscaped(octets, octet)
  }
  if (options.checksum === true) pushEscaped(octets, sum)
  octets.push(frameEnd)
  return Uint8Array.from(octets)
}

/**
 * A streaming decoder. A frame end always ends a frame; empty frames are nothing. Only whole frames
 * come out: one with a bad escape is dropped and counted. (The paper goes on assembling it; but no
 * check sequence protects this link, so that a frame known to be damaged would go on the air as if
 * it were right.)
 * @throws RangeError if maxOctets is below 2
 */
export function createKissDecoder(options: KissDecoderOptions): KissDecoder {
  const { maxOctets, checksum = false, startInsideFrame = false } = options
  if (!(maxOctets >= 2)) throw new RangeError(`maxOctets: got ${maxOctets}, expected 2 or more`)
  const counters: KissCounters = { frames: 0, badEscape: 0, tooLong: 0, badChecksum: 0, noise: 0 }
  const octets = new Uint8Array(maxOctets + (checksum ? 1 : 0))
  const initial: State = startInsideFrame ? 'frame' : 'outside'
  let state: State = initial
  let count = 0

  const add = (octet: number): void => {
    if (count === octets.length) {
      counters.tooLong++
      state = 'dropping'
    } else {
      octets[count++] = octet
      state = 'frame'
    }
  }

  const take = (octet: number): void => {
    if (state === 'escape') {
      if (octet === transposedFrameEnd) add(frameEnd)
      else if (octet === transposedFrameEscape) add(frameEscape)
      else {
        counters.badEscape++
        state = 'dropping'
      }
    } else if (state === 'frame') {
      if (octet === frameEscape) state = 'escape'
      else add(octet)
    } else if (state === 'outside') {
      counters.noise++
      state = 'dropping'
    }
  }

  const end = (): KissFrame | undefined => {
    if (state === 'escape') counters.badEscape++
    const whole = state === 'frame' ? octets.slice(0, count) : undefined
    state = 'frame'
    count = 0
    if (whole === undefined || whole.length === 0) return undefined
    if (checksum && (whole.length < 2 || whole.reduce((sum, octet) => sum ^ octet, 0) !== 0)) {
      counters.badChecksum++
      return undefined
    }
    counters.frames++
    return readFrame(checksum ? whole.subarray(0, -1) : whole)
  }

  return {
    push(chunk) {
      const frames: KissFrame[] = []
      for (const octet of chunk) {
        if (octet !== frameEnd) {
          take(octet)
          continue
        }
        const frame = end()
        if (frame !== undefined) frames.push(frame)
      }
      return frames
    },
    reset() {
      state = initial
      count = 0
    },
    counters,
  }
}

/** outside: no frame end seen yet. dropping: the rest of a bad frame, up to its end. */
type State = 'outside' | 'frame' | 'escape' | 'dropping'

function typeOctet({ port, command }: KissFrame): number {
  if (command === returnCommand) return returnTypeOctet
  if (!Number.isInteger(port) || port < 0 || port > 15) {
    throw new RangeError(`KISS port: got ${port}, expected 0 to 15`)
  }
  if (!Number.isInteger(command) || command < 0 || command > 15) {
    throw new RangeError(`KISS command: got ${command}, expected 0 to 15`)
  }
  const type = (port << 4) | command
  if (type === returnTypeOctet) throw new RangeError('KISS command 15 on port 15 would be Return')
  return type
}

function pushEscaped(octets: number[], octet: number): void {
  if (octet === frameEnd) octets.push(frameEscape, transposedFrameEnd)
  else if (octet === frameEscape) octets.push(frameEscape, transposedFrameEscape)
  else octets.push(octet)
}

function readFrame(whole: Uint8Array): KissFrame {
  const type = whole[0]!
  const command = type === returnTypeOctet ? returnCommand : type & 15
  return { port: type >> 4, command, data: whole.subarray(1) }
}

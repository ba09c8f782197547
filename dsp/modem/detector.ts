/** A frame as one detector saw it. Positions count samples at the working rate, in fractions where a detector knows them. */
export interface CandidateFrame {
  /** without FCS */
  readonly octets: Uint8Array
  /** start of the opening flag */
  readonly startSample: number
  /** end of the closing flag */
  readonly endSample: number
  /** flags directly before the frame, the opening flag included */
  readonly precedingFlags: number
  /** channel bits that repair changed, a swapped pair counted as one */
  readonly repairedBits: number
  /** copies on the air that it was made of, 1 unless given */
  readonly copies?: number
  readonly detector: string
  /** of a frame that came with check octets */
  readonly code?: FrameCode | undefined
  /** line levels from startSample on, of a frame that stands on the air otherwise than between two flags: 1 is mark */
  readonly levels?: Uint8Array | undefined
}

/** The forward error correction that a frame came with. */
export interface FrameCode {
  readonly kind: 'FX.25' | 'IL2P'
  /** octets of frame, filling and check octets that were wrong as heard */
  readonly correctedOctets: number
}

/** A segment between flags that looked like a frame of a real signal, but whose FCS is wrong. */
export interface DamagedSegment {
  readonly startSample: number
  readonly endSample: number
  /** how many reports this one counts for, 1 unless given: more when the detector is sure that a signal was there */
  readonly votes?: number
}

/** Where detectors put what they find. */
export interface DetectorSink {
  frame(candidate: CandidateFrame): void
  damaged(segment: DamagedSegment): void
  /** Check octets follow: what is damaged in this stretch may still become a frame. */
  expect?(span: { readonly startSample: number; readonly endSample: number }): void
}

/** One way to turn audio into frames. Several work side by side on the same blocks. */
export interface Detector {
  readonly name: string
  /** @param samples at the working rate, 0 to 3.3 kHz */
  process(samples: Float32Array): void
  /** Ends the stream: reports what was still being decided on. */
  finish?(): void
}

/** One that can leave out parts of the stream. */
export interface RestartableDetector extends Detector {
  /**
   * Goes on at another place, with nothing known of what is before it.
   * @param position of the next sample
   */
  restart(position: number): void
}

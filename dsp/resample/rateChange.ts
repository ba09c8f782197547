/** A stream from one rate to another. The output does not depend on how the input is cut into blocks. */
export interface RateChange {
  /**
   * Output sample k stands for the input moment k * fromHz / toHz: there is no shift between the two,
   * output only comes later, by delaySamples.
   * @param block any length; not kept
   * @returns what became complete, perhaps nothing; valid until the next call
   */
  process(block: Float32Array): Float32Array
  /** Ends the stream: the rest, so that ceil(input * toHz / fromHz) samples have come out in all. */
  flush(): Float32Array
  /** input samples that must follow a moment before its output sample comes out */
  readonly delaySamples: number
}

// Windowed-sinc design after Kaiser. Formulas: A. V. Oppenheim, R. W. Schafer, Discrete-Time Signal Processing,
// section "FIR filter design by the Kaiser window method" (from memory); checked against tones in the tests.

/** What a Kaiser window needs to reach an attenuation over a transition. */
export interface KaiserDesign {
  readonly beta: number
  /** samples from the window's middle to its end */
  readonly halfWidth: number
}

/**
 * @param attenuationDb of the stop band, above 50; the pass band ripples by as little
 * @param transition width between the two bands, as a share of the sample rate
 */
export function designKaiser(attenuationDb: number, transition: number): KaiserDesign {
  const order = (attenuationDb - 8) / (2.285 * 2 * Math.PI * transition)
  return { beta: 0.1102 * (attenuationDb - 8.7), halfWidth: Math.ceil((order + 1) / 2) }
}

/**
 * @param position -1 to 1 from end to end; 0 outside
 * @returns 1 in the middle
 */
export function kaiserWindow(position: number, beta: number): number {
  if (Math.abs(position) > 1) return 0
  return besselI0(beta * Math.sqrt(1 - position * position)) / besselI0(beta)
}

/** sin(pi x) / (pi x) */
export function sinc(x: number): number {
  return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x)
}

/** Modified Bessel function of the first kind and order 0, by its power series. */
export function besselI0(x: number): number {
  const quarter = (x * x) / 4
  let term = 1
  let sum = 1
  for (let k = 1; term > sum * 1e-17; k++) {
    term *= quarter / (k * k)
    sum += term
  }
  return sum
}

/** Mean power of samples, full scale ±1; 0 for none. */
export function meanPower(samples: Float32Array): number {
  let sum = 0
  for (let index = 0; index < samples.length; index++) sum += samples[index]! * samples[index]!
  return samples.length === 0 ? 0 : sum / samples.length
}

/** A power in dB; -200 stands for none. */
export const powerDb = (power: number): number => 10 * Math.log10(Math.max(power, 1e-20))

/** The power that is so many dB. */
export const fromDb = (db: number): number => 10 ** (db / 10)

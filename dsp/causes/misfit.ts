// What is heard in the band and does not fit the signal.
import { symbolRateHz } from '../modem/modulator.js'
import { fromDb, powerDb } from '../numbers/power.js'
import { type Piece, silentDb } from './pieceFits.js'

/**
 * What is in the band and does not fit over what stands beside the band, as noise densities; dB.
 * @param pieces of one run
 */
export function misfitOverBesideDb(pieces: readonly Piece[]): number {
  const sum = (of: (piece: Piece) => number): number =>
    pieces.reduce((total, piece) => total + of(piece), 1e-18)
  return powerDb(sum(leftOf) / sum(({ besideDensity }) => besideDensity * symbolRateHz))
}

/** Power of what the fit leaves, in one symbol rate's width; of silence nothing. */
const leftOf = ({ signalPower, ebN0Db }: Piece): number =>
  ebN0Db > silentDb ? signalPower / fromDb(ebN0Db) : 0

/** All that is heard in the band, which is twice as wide. */
export const powerOf = (piece: Piece): number => piece.signalPower + 2 * leftOf(piece)

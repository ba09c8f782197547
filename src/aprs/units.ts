/*
 * Exact conversion factors of the units on the air to those of our values.
 * International foot, inch, mile and nautical mile: ISO 80000-3, notes (from memory).
 */
export const metersPerFoot = 0.3048
export const mmPerInch = 25.4
export const kmPerMile = 1.609344
export const kmPerNauticalMile = 1.852
export const kmhPerKnot = 1.852
export const mpsPerKnot = 1852 / 3600
export const mpsPerMph = 1609.344 / 3600

export const celsiusOfFahrenheit = (degreesF: number): number => ((degreesF - 32) * 5) / 9

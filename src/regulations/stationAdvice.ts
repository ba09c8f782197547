import { usualFrequencies } from './usualFrequencies.js'

/** What the number behind a call sign is taken to mean (from memory of recommendations of 2012; nothing enforces it). */
export const ssidAdvice: readonly { readonly ssids: string; readonly meaning: string }[] = [
  { ssids: 'none', meaning: 'your main station' },
  { ssids: '1 to 4', meaning: 'further stations, digipeaters, weather' },
  { ssids: '7', meaning: 'a hand-held' },
  { ssids: '9', meaning: 'a car' },
  { ssids: '10', meaning: 'a station with services' },
  { ssids: '13', meaning: 'a weather station' },
  { ssids: '15', meaning: 'whatever is left' },
]

/** Which digipeaters are asked to repeat a beacon of a fixed station (common practice, no source). */
export const pathAdvice: readonly { readonly path: string; readonly meaning: string }[] = [
  {
    path: 'none',
    meaning: 'who hears you directly: enough for a hill',
  },
  { path: 'WIDE1-1', meaning: 'a fill-in near you repeats it' },
  { path: 'WIDE2-1', meaning: 'a wide digipeater repeats it' },
  {
    path: 'WIDE1-1,WIDE2-1',
    meaning: 'both do: for who moves or lies low',
  },
]

/** Rough boxes: south, north, west, east, degrees. They only choose what is offered first; the operator decides. */
const boxes: readonly {
  readonly where: string
  readonly box: readonly [number, number, number, number]
}[] = [
  { where: 'North America', box: [15, 75, -170, -52] },
  { where: 'Europe and most of ITU Region 1', box: [34, 72, -12, 40] },
  { where: 'Australia', box: [-44, -10, 112, 154] },
  { where: 'New Zealand', box: [-48, -34, 166, 179] },
  { where: 'Brazil', box: [-34, 5, -74, -34] },
]

/** The usual frequency around a place; undefined where none is known here. The local band plan comes first. */
export function usualFrequencyNear(latitudeDeg: number, longitudeDeg: number) {
  const where = boxes.find(
    ({ box: [south, north, west, east] }) =>
      latitudeDeg >= south && latitudeDeg <= north && longitudeDeg >= west && longitudeDeg <= east,
  )?.where
  return usualFrequencies.find((one) => one.where === where)
}

import { readFileSync } from 'node:fs'

/** The published and computed values of geo-sky.json; each test names the source that the file gives. */
// biome-ignore lint/suspicious/noExplicitAny: a data file of many shapes, read only here
export const geoSky: any = JSON.parse(
  readFileSync(new URL('./geo-sky.json', import.meta.url), 'utf8'),
)

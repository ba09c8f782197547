import { cardsTarget, csvTarget, elementsTarget, weatherTarget } from './dataTargets.js'
import type { Target } from './engine.js'
import { frameTarget } from './frameTarget.js'
import { codesTarget, configTarget, kissTarget, wavTarget } from './parserTargets.js'
import type { Load } from './seeds.js'

/** What takes octets of strangers, by name. @param load loads a module of the program; @param seed of its randomness */
type Make = (load: Load, seed: number) => Promise<Target>

export const targets: Readonly<Record<string, Make>> & { readonly frames: Make } = {
  frames: frameTarget,
  kiss: kissTarget,
  wav: wavTarget,
  config: configTarget,
  csv: csvTarget,
  elements: elementsTarget,
  cards: cardsTarget,
  weather: weatherTarget,
  codes: codesTarget,
}

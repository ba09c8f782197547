import { parseConfig } from '../config/load.js'
import type { NodeOptions } from '../node/options.js'
import { isRecord } from '../runtime/isRecord.js'
import { nodeOptions } from './nodeOptions.js'

/** Some of an options type's values, and some of those in its groups. */
export type OptionsChange<Options> = {
  readonly [Key in keyof Options]?: Options[Key] extends readonly unknown[]
    ? Options[Key]
    : Options[Key] extends object | undefined
      ? Partial<Options[Key]>
      : Options[Key]
}

/** A node's options where nothing is configured, but for the change: for simulations and tests. */
export const defaultNodeOptions = (change: OptionsChange<NodeOptions> = {}): NodeOptions =>
  changed(nodeOptions(parseConfig('', 'defaults')), change)

function changed<Options extends object>(
  options: Options,
  change: OptionsChange<Options>,
): Options {
  const entries = Object.entries(change).map(([key, value]) => {
    const before = options[key as keyof Options]
    return [key, isRecord(value) && isRecord(before) ? { ...before, ...value } : value]
  })
  return { ...options, ...Object.fromEntries(entries) }
}

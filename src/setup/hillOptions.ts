import { closeSync, fsyncSync, openSync, readFileSync, renameSync, writeSync } from 'node:fs'
import { formatAddress } from '../ax25/address.js'
import { inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import type { HillOptions, LifeMark } from '../node/hills/hillParts.js'
import { callSignProblem } from '../regulations/callSign.js'
import { connectedOptions } from './connectedOptions.js'

/** What the exchange with other nodes is told, out of the configuration. */
export function hillOptions(config: Config): HillOptions {
  const { enabled: _, neighbour, senders, ...rest } = inBaseUnits(config.hills)
  return {
    ...rest,
    own: formatAddress(connectedOptions(config).own),
    senders: senders.map((one) => one.toLowerCase()),
    isLicensed: (name) => callSignProblem(name) === undefined,
    neighbours: neighbour.map(({ secret, ...one }) => ({
      ...one,
      ...(secret !== '' && { secret }),
    })),
  }
}

/** A back-up of a database knows nothing of the file beside it: so a copy in its place is noticed. */
const lifeSuffix = '-hills'

/** @param databaseFile undefined, or ':memory:': nothing is kept */
export function lifeMarkBeside(databaseFile: string): LifeMark | undefined {
  if (databaseFile === ':memory:') return undefined
  const file = databaseFile + lifeSuffix
  return {
    read() {
      try {
        const match = /^([a-z2-7]{8}) (\d{1,15})\n$/.exec(readFileSync(file, 'utf8'))
        return match ? { epoch: match[1]!, step: Number(match[2]) } : undefined
      } catch {
        return undefined
      }
    },
    write({ epoch, step }) {
      try {
        const descriptor = openSync(`${file}.new`, 'w')
        try {
          writeSync(descriptor, `${epoch} ${step}\n`)
          fsyncSync(descriptor)
        } finally {
          closeSync(descriptor)
        }
        renameSync(`${file}.new`, file)
      } catch {
        // An older mark notices less; the neighbours' counts are looked at, too.
      }
    },
  }
}

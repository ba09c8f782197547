import { mkdtempSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openReadings } from '../../src/setup/telemetryReadings.js'

describe('readings for the telemetry', () => {
  it('come from files and commands; what cannot be read is told once and has no value', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'ridgepost-readings-'))
    writeFileSync(join(folder, 'temp'), '21437\n')
    const faults: string[] = []
    const common = { step: 1, offset: 0 }
    const readings = openReadings(
      [
        { ...common, name: 'Temp', unit: 'C', file: 'temp', scale: 0.001 },
        {
          ...common,
          name: 'Volt',
          unit: 'V',
          command: [process.execPath, '-e', 'console.log("supply: 12.6 V")'],
          scale: 1,
        },
        { ...common, name: 'Gone', unit: 'x', file: 'nowhere', scale: 1 },
        { ...common, name: 'Word', unit: 'x', command: [process.execPath, '-e', '0'], scale: 1 },
      ],
      folder,
      virtualClock(),
      (channel, reason) => faults.push(`${channel}: ${reason}`),
    )
    await readings.ready
    readings.close()
    expect(readings.channels.map((channel) => channel.read())).toEqual([
      21.437,
      12.6,
      undefined,
      undefined,
    ])
    expect(faults.sort()[0]).toMatch(/^Gone: .*no such file/)
    expect(faults[1]).toMatch(/^Word: got '', expected a number/)
  })
})

import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { checkCommand } from '../../src/cli/check/check.js'
import { exposureCommand } from '../../src/cli/exposure/exposure.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { runCommand } from './commandBench.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const exposure = (...commandArguments: string[]) => runCommand(exposureCommand, commandArguments)

function config(transmit: string): string {
  const file = join(folder, 'node.toml')
  writeFileSync(file, `[transmit]\n${transmit}`)
  return file
}

const flags = ['--frequency', '144.39', '--power', '50', '--gain', '6']

describe('ridgepost exposure', () => {
  it('prints the published distances (rf-exposure.json: 50 W, 6 dBi, 2.56: 2.0137 m and 4.5028 m)', async () => {
    const { stdout, exitCode } = await exposure(...flags)
    expect(exitCode).toBe(0)
    expect(stdout).toMatch(/KEEP AWAY AT LEAST +4\.51 m \(14\.8 ft\) +2\.02 m \(6\.7 ft\)/)
    expect(stdout).toMatch(/EIRP 199 W/)
    expect(stdout).toMatch(/2\.01 +6\.61 +1 +500 % +1 +100 %.*keep away, trained/)
    expect(stdout).toMatch(/4\.5 +14\.8 +0\.2 +100 % +0\.2 +20 %.*keep away, everybody/)
  })

  it('the sample configuration: 20 % of 50 W is the published row of 10 W, 2.15 dBi, 2.56', async () => {
    const published = JSON.parse(
      readFileSync(new URL('../published/rf-exposure.json', import.meta.url), 'utf8'),
    ) as { distance_table_computed: Record<string, number | string>[] }
    const row = published.distance_table_computed.find(
      (one) => one.avg_power_w === 10 && one.gain_dbi === 2.15 && one.ground_factor === 'EPA 2.56',
    )!
    const sample = fileURLToPath(new URL('../../samples/hilltop/node.toml', import.meta.url))
    const { stdout } = await exposure(sample, '--format', 'json')
    const { estimate } = JSON.parse(stdout) as {
      estimate: Record<'occupational' | 'general', Record<string, number>>
    }
    const { occupational, general } = estimate
    expect(general.averageEirpW!.toFixed(4)).toBe(String(row.eirp_w))
    expect(occupational.limitDistanceM!.toFixed(4)).toBe(String(row.distance_occupational_m))
    expect(general.limitDistanceM!.toFixed(4)).toBe(String(row.distance_general_m))
    const check = await runCommand(checkCommand, [sample, '--no-devices'], { clock: systemClock() })
    // printed rounded up
    expect(check.stdout).toMatch(
      /keep everybody 1\.3 m \(4\.3 ft\), trained people\s+\(occupational\)\s+1 m\s+\(3\.3 ft\)\s+from\s+the\s+antenna;\s+nobody\s+on\s+level\s+ground\s+is\s+too\s+near/,
    )
    expect(check.stdout).toMatch(/nothing yet: transmit\.enabled is false/)
  })

  it.each([
    ['free', '1.2586', '2.8143'],
    ['average', '2.0137', '4.5028'],
    ['worst', '2.5172', '5.6285'],
  ])('--reflection %s gives the published row in JSON', async (reflection, near, far) => {
    const { stdout } = await exposure(...flags, '--reflection', reflection, '--format', 'json')
    const { estimate } = JSON.parse(stdout) as {
      estimate: Record<'occupational' | 'general', { limitDistanceM: number }>
    }
    expect(estimate.occupational.limitDistanceM.toFixed(4)).toBe(near)
    expect(estimate.general.limitDistanceM.toFixed(4)).toBe(far)
  })

  it('takes figures and the enforced duty from a configuration, and options override them', async () => {
    const file = config(`frequencyMHz = 144.39
powerW = 50
antennaGainDbi = 6
feedLineLossDb = 3.0103
antennaHeightM = 12
dutyPercent = 25
longDutyPercent = 25`)
    const { stdout } = await exposure(file)
    expect(stdout).toMatch(/25 W at the antenna/)
    expect(stdout).toMatch(/at most 25 % of any 6 min and 25 % of any 30 min/)
    // an eighth of the power of the row above: its distances over the square root of 8
    expect(stdout).toMatch(/KEEP AWAY AT LEAST +1\.6 m .* 0\.72 m/)
    expect(stdout).toMatch(/foot of the mast +nobody is too near +nobody is too near/)
    const overridden = await exposure(file, '--loss', '0', '--duty', '100', '--height', '3')
    expect(overridden.stdout).toMatch(/KEEP AWAY AT LEAST +4\.51 m .* 2\.02 m/)
    expect(overridden.stdout).toMatch(/foot of the mast +4\.4 m .* 1\.75 m/)
  })

  it('says what it is, where it does not hold, and who decides', async () => {
    const { stdout } = await exposure(...flags, '--size', '4', '--distance', '2.5')
    for (const words of [
      /an estimate for one transmitter, in the main beam, in the far field/,
      /KEEP AWAY AT LEAST +15\.42 m .* 15\.42 m/,
      /2\.5 +8\.2 +near field: the formula does not hold here/,
      /Where several antennas share a site/,
      /Local rules decide which limits hold .*, and the\s+evaluation of the licensed person/,
      /pacemaker/,
    ])
      expect(stdout).toMatch(words)
  })

  it('draws both curves where the table has them', async () => {
    const { stdout } = await exposure(...flags)
    const plot = stdout.split('\n').filter((line) => line.includes(' |'))
    expect(plot).toHaveLength(15)
    const limit = plot.find((line) => line.includes('limit'))!
    // both curves cross the limit, the occupational one nearer
    expect(limit.indexOf('o', 10)).toBeLessThan(limit.indexOf('g'))
    expect(plot.every((line) => line.length <= 100)).toBe(true)
  })

  it.each([
    [['--frequency', '144.39'], /no powerW, antennaGainDbi.*give --power W --gain DBI/],
    [['--frequency', 'two'], /Not a number/],
    [[...flags, '--duty', '300'], /duty share: got 3, expected from 0 to 1/],
    [
      [...flags, '--frequency', '0.1'],
      /frequency: got 0.1, expected from 0.3 to 100000 MHz \(47 CFR 1.1310 as it stands here\)/,
    ],
    [[...flags, '--distance', '0'], /above 0/],
    [[...flags, '--reflection', 'sea'], /choices/],
  ])('wrong usage %j exits 2 and says why', async (commandArguments, words) => {
    const { stderr, exitCode } = await exposure(...commandArguments)
    expect(exitCode).toBe(2)
    expect(stderr).toMatch(words)
  })

  it('a configuration without figures names the keys; a radio that there is not is named', async () => {
    const file = config('powerW = 5')
    expect((await exposure(file)).stderr).toMatch(
      /set transmit.frequencyMHz, transmit.antennaGainDbi, or give --frequency MHZ --gain DBI/,
    )
    expect((await exposure(file, '--radio', '1')).stderr).toMatch(/got 1, expected 0 to 0/)
    expect((await exposure(join(folder, 'none.toml'))).exitCode).toBe(1)
  })

  it('no power is no exposure', async () => {
    const { stdout, exitCode } = await exposure(...flags, '--power', '0')
    expect(exitCode).toBe(0)
    expect(stdout).toMatch(/KEEP AWAY AT LEAST +0 m \(0 ft\) +0 m/)
  })

  it('several radios of one site: the sum, then each in short', async () => {
    const radio = (name: string, more: string) =>
      `[[radio]]\nname = "${name}"\n[radio.transmit]\n${more}\n`
    const figures =
      'enabled = true\nfrequencyMHz = 144.39\npowerW = 50\nantennaGainDbi = 6\nantennaHeightM = 4\nantennaSizeM = 1\ndutyPercent = 100\nlongDutyPercent = 100'
    const file = join(folder, 'node.toml')
    writeFileSync(
      file,
      `[station]\ncall = "Q1ABC"\n${radio('a', figures)}${radio('b', figures)}${radio('ears', '')}`,
    )
    const { stdout } = await exposure(file)
    // two of a kind: 4.5028 m and 2.0137 m times the square root of 2
    expect(stdout).toMatch(/at least 6\.37 m \(20\.9 ft\) from each antenna/)
    expect(stdout).toMatch(/trained people \(occupational\) 2\.85 m/)
    expect(stdout).toMatch(/ears is not counted/)
    // at 10 m each has (4.5028 / 10)^2 of everybody's limit, (2.0137 / 10)^2 of the other
    expect(stdout).toMatch(/ 10 +32\.8 +40\.6 % +8\.11 %/)
    expect(stdout).toMatch(/b alone \(table and plot: --radio 1\)/)
    const one = await exposure(file, '--radio', '1')
    expect(one.stdout).toMatch(/at least 4\.51 m/)
    expect((await exposure(file, '--power', '5')).stderr).toMatch(/say which: --radio 0 to 2/)
    const json = JSON.parse((await exposure(file, '--format', 'json')).stdout) as {
      together: Record<'general', { keepAwayM: number; groundDistanceM: number }>
    }
    expect(json.together.general.keepAwayM).toBeCloseTo(4.5028 * Math.SQRT2, 3)
    expect(json.together.general.groundDistanceM).toBeGreaterThan(5)
  })

  it('other limits say that they are from memory; own ones need their figures', async () => {
    const canada = await exposure(...flags, '--limits', 'safety-code-6')
    expect(canada.stdout).toMatch(/power density +1\.29 W\/m2 +7\.76 W\/m2/)
    expect(canada.stdout).toMatch(/from memory, not verified here/)
    expect(canada.stdout).not.toMatch(/47 CFR 1\.1307/)
    const own = await exposure(...flags, '--limits', 'own', '--own', '2', '--own-averaging', '6')
    expect(own.stdout).toMatch(/KEEP AWAY AT LEAST +4\.51 m .* 4\.51 m/)
    expect(own.stdout).not.toMatch(/from memory, not verified/)
    expect((await exposure(...flags, '--limits', 'own')).stderr).toMatch(/--own-averaging MINUTES/)
    const both = await exposure(...flags, '--limits', 'icnirp-1998', '--own', '2')
    expect(both.stderr).toMatch(/got --limits icnirp-1998, and figures of your own/)
    const file = config('frequencyMHz = 144.39\npowerW = 50\nantennaGainDbi = 6')
    writeFileSync(file, `${readFileSync(file, 'utf8')}\n[exposure]\nlimits = "own"\n`)
    expect((await exposure(file)).stderr).toMatch(/exposure\.ownWPerM2.*limits = "own" needs it/s)
  })
})

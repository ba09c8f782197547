import { mkdtempSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { ConfigInvalid, loadConfig, parseConfig } from '../../src/config/load.js'

const problemsOf = (text: string): readonly string[] => {
  try {
    parseConfig(text, 'node.toml')
  } catch (error) {
    if (error instanceof ConfigInvalid) return error.problems
    throw error
  }
  return []
}

describe('configuration', () => {
  it('an empty file is a whole configuration that transmits nothing', () => {
    const config = parseConfig('', 'node.toml')
    expect(config.radios).toHaveLength(1)
    expect(config.station.call).toBe('N0CALL')
  })

  it('names file, key, got and expected, all problems at once', () => {
    const problems = problemsOf(`
      [station]
      call = "lower"
      latitudeDeg = "north"
      altitude = 3
      units = "furlongs"
    `)
    expect(problems).toContain(
      'node.toml: station.call: got "lower", expected a call sign in capitals with an optional SSID, such as "N0CALL-10"',
    )
    expect(problems).toContain('node.toml: station.latitudeDeg: got "north", expected a number')
    expect(problems).toContain(
      'node.toml: station.units: got "furlongs", expected one of "km", "miles"',
    )
    expect(problems.find((line) => line.includes('station.altitude'))).toMatch(/unknown key/)
    expect(problems).toHaveLength(4)
  })

  it('names the key that was meant, and what to write for a number in quotes', () => {
    const problems = problemsOf(`
      [station]
      longitude = 3
      [transmit]
      enabled = "yes"
      keyDelayMs = "300ms"
      powr = 10
      [kiss.tcp]
      prot = 1
      [[radio]]
      name = "vhf"
      [radio.audo]
      [nonsense]
    `).map((line) => line.slice('node.toml: '.length))
    const about = (key: string) => problems.find((line) => line.startsWith(`${key}:`))
    expect(about('station.longitude')).toMatch(/did you mean longitudeDeg\?$/)
    expect(about('transmit.enabled')).toBe('transmit.enabled: got "yes", expected true or false')
    expect(about('transmit.keyDelayMs')).toMatch(/; write keyDelayMs = 300$/)
    expect(about('transmit.powr')).toMatch(/did you mean powerW\?$|expected enabled, /)
    expect(about('kiss.tcp.prot')).toMatch(
      /expected enabled, address, port, .*did you mean port\?$/,
    )
    expect(about('radio.0.audo')).toMatch(/expected name, audio, .*did you mean audio\?$/)
    expect(about('nonsense')).toMatch(/expected station, audio, [^?]*$/)
  })

  it('says where TOML breaks', () => {
    expect(() => parseConfig('[station]\ncall = ', 'node.toml')).toThrow(
      /^node\.toml:2:\d+: this is not a value: /,
    )
  })

  it('a radio per [[radio]], or the short form, never both', () => {
    const two = parseConfig('[[radio]]\nname = "vhf"\n[[radio]]\nname = "uhf"\n', 'node.toml')
    expect(two.radios.map((radio) => radio.name)).toEqual(['vhf', 'uhf'])
    expect(problemsOf('[audio]\n[[radio]]\nname = "vhf"\n')[0]).toMatch(/beside \[\[radio\]\]/)
  })

  describe('a radio that keys itself', () => {
    const sound = '[audio]\noutput = "alsa:plughw:1"\n'
    const enabled = '[transmit]\nenabled = true\n'

    it('cannot send before it is known how long it stays on the air, and the message says how to find out', () => {
      expect(problemsOf(sound + enabled)).toEqual([
        expect.stringMatching(
          /^node\.toml: ptt\.hangMs: got nothing, expected how long the radio stays on the air .*write hangMs = 3000 to begin with, measure it with `ridgepost tone vox`/,
        ),
      ])
      const two = `[[radio]]\n[radio.transmit]\nenabled = true\n[radio.audio]\noutput = "alsa:x"\n`
      expect(problemsOf(two)[0]).toMatch(/^node\.toml: radio\.0\.ptt\.hangMs: got nothing/)
      expect(problemsOf(`${sound}${enabled}[ptt]\nhangMs = 0\n`)).toEqual([])
    })

    it.each([
      ['that only receives', sound],
      ['without an output', enabled],
      ['that writes a file', `[audio]\noutput = "wav:out.wav"\n${enabled}`],
      ['with a key line', `${sound}${enabled}[ptt]\nkind = "serial"\ndevice = "/dev/ttyUSB0"\n`],
      [
        'behind an external modem',
        `${sound}${enabled}[modem]\nkind = "tcp"\nhost = "m"\nport = 1\n`,
      ],
    ])('is none %s', (_, text) => {
      expect(problemsOf(text)).toEqual([])
    })

    it('is given enough flags for its attack', () => {
      const attack = (ms: number): string => `[ptt]\nattackMs = ${ms}\n`
      expect(problemsOf(attack(300))).toEqual([])
      expect(problemsOf(attack(301))).toEqual([
        expect.stringMatching(
          /^node\.toml: ptt\.attackMs: got 301, expected at most transmit\.keyDelayMs \(300\)/,
        ),
      ])
    })
  })

  it('a file that is not there is named', async () => {
    const missing = join(mkdtempSync(join(tmpdir(), 'config-')), 'none.toml')
    await expect(loadConfig(missing)).rejects.toThrow(missing)
    const present = join(mkdtempSync(join(tmpdir(), 'config-')), 'node.toml')
    writeFileSync(present, '[station]\ncall = "N0CALL-10"\n')
    expect((await loadConfig(present)).station.call).toBe('N0CALL-10')
  })
})

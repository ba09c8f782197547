import { spawnSync } from 'node:child_process'
import { chmodSync, existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer, type Server } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { checkCommand } from '../../src/cli/check/check.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { runCommand } from './commandBench.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

interface Found {
  readonly about: string
  readonly text: string
}
interface Report {
  readonly plan: { heading: string; lines: [string, string][] }[]
  readonly good: string[]
  readonly mend: Found[]
  readonly look: Found[]
  readonly cautions: { about: string }[]
}

function write(text: string): string {
  const file = join(folder, 'node.toml')
  writeFileSync(file, text)
  return file
}

const check = (text: string, ...flags: string[]) =>
  runCommand(checkCommand, [write(text), ...flags], {
    clock: systemClock(),
    env: { ...process.env, HOME: folder },
  })

async function report(text: string, ...flags: string[]): Promise<Report & { exitCode: number }> {
  const { stdout, exitCode } = await check(text, '--format', 'json', ...flags)
  return { ...(JSON.parse(stdout) as Report), exitCode }
}

const about = (found: readonly Found[]) => found.map((one) => one.about)
const lineOf = (one: Report, label: string): string =>
  one.plan.flatMap((part) => part.lines).find(([name]) => name === label)?.[1] ?? ''

// Invented: no country's calls begin with Q.
const station = `[station]
call = "QQ1AA-10"
controlOperator = "Quinn Example"
latitudeDeg = 47.1
longitudeDeg = -121.2
`
const noKiss = '[kiss.tcp]\nenabled = false\n'
const sending = `[transmit]
enabled = true
frequencyMHz = 145.01
powerW = 50
antennaGainDbi = 6
antennaHeightM = 12
holdFile = "stop"
dutyPercent = 100
longDutyPercent = 100
`
const files = '[audio]\ninput = "pcm:-"\noutput = "wav:out.wav"\n[ptt]\nkind = "command"\n'
const keyed = `${files}keyCommand = ["true"]\nunkeyCommand = ["true"]\n`

describe('ridgepost check', () => {
  it('a plan that is whole: said in plain words, nothing to mend, exit 0', async () => {
    const one = await report(station + sending + keyed + noKiss)
    expect(one.mend).toEqual([])
    expect(one.exitCode).toBe(0)
    expect(lineOf(one, 'control operator')).toBe('Quinn Example')
    expect(lineOf(one, 'position')).toBe('47.1000 N, 121.2000 W, 0 m above sea')
    expect(lineOf(one, 'sends on')).toBe('145.01 MHz (2 m), AFSK 1200 baud on FM')
    expect(lineOf(one, 'power')).toMatch(/50 W at the antenna, gain 6 dBi, EIRP 199 W/)
    expect(lineOf(one, 'keyed by')).toBe('true; unkeyed by true')
    expect(lineOf(one, 'limits')).toMatch(/at most 8 s at a time, 100 % of any 6 min/)
    expect(lineOf(one, 'held by')).toMatch(/the operator .*, the file stop while it exists/)
    expect(lineOf(one, 'identifies')).toMatch(
      /as QQ1AA-10, in an AX.25 frame, at least every 9 min/,
    )
    // rf-exposure.json: 50 W, 6 dBi, factor 2.56, 144.39 MHz: 4.5028 m and 2.0137 m
    expect(lineOf(one, 'exposure')).toMatch(
      /everybody 4\.51 m .*, trained people \(occupational\) 2\.02 m/,
    )
    expect(one.good).toContain('key line: true can be run')
    expect(one.good).toContain(`store.file: ${join(folder, 'ridgepost.db')} will be made`)
  })

  it('shows the cautions, and that local rules come first', async () => {
    const { stdout } = await check(station + sending + keyed + noKiss)
    for (const words of ['Licence', 'Control operator', 'Identification', 'Frequency in use'])
      expect(stdout).toContain(`\n  ${words}\n`)
    expect(stdout).toMatch(/The radio's duty cycle/)
    expect(stdout).toMatch(/RF exposure/)
    expect(stdout).toMatch(/local\s+rules\s+come\s+first/)
    expect(stdout.trimEnd().endsWith('No errors.')).toBe(true)
    expect(stdout.split('\n').every((line) => line.length <= 80)).toBe(true)
  })

  it('receiving needs no call sign', async () => {
    const one = await report(`[audio]\ninput = "pcm:-"\n${noKiss}`)
    expect(one.exitCode).toBe(0)
    expect(lineOf(one, 'sends')).toBe('nothing: transmit.enabled is false')
    expect(about(one.look)).toEqual(['station.latitudeDeg, station.longitudeDeg'])
  })

  it('says that no command by radio is heeded where nothing is answered', async () => {
    const control = '[control]\nfile = "control.json"\n'
    const silent = '[node]\nanswer = false\n'
    const found = async (text: string) =>
      (await report(`[audio]\ninput = "pcm:-"\n${noKiss}${text}`)).look.filter(
        (one) => one.about === 'node.answer',
      )
    expect(await found(silent + control)).toEqual([
      expect.objectContaining({ text: expect.stringContaining('not even `hold`') }),
    ])
    expect(await found(control)).toEqual([])
    expect(await found(silent)).toEqual([])
  })

  it.each(['N0CALL', 'N0CALL-10', 'TEST', 'MYCALL', 'QQ', '1234'])(
    'refuses to send as %s',
    async (call) => {
      const one = await report(station.replace('QQ1AA-10', call) + sending + keyed + noKiss)
      expect(about(one.mend)).toEqual(['station.call'])
      expect(one.mend[0]!.text).toMatch(/nothing is sent until it is your own call sign/)
      expect(one.exitCode).toBe(1)
    },
  )

  it('names everything that sending needs and that is missing', async () => {
    const one = await report(`[transmit]\nenabled = true\n[audio]\ninput = "pcm:-"\n${noKiss}`)
    expect(about(one.mend)).toEqual([
      'station.call',
      'station.controlOperator',
      'transmit.frequencyMHz',
      'transmit.powerW',
      'transmit.antennaGainDbi',
      'transmit.antennaHeightM',
      'audio.output',
    ])
    expect(about(one.look)).toContain('ptt.kind')
  })

  describe('a radio that keys itself on audio', () => {
    const vox = (more = '', output = 'alsa:plughw:1'): string =>
      `${station}${sending.replace('dutyPercent = 100\nlongDutyPercent = 100\n', '')}${more}[audio]\ninput = "pcm:-"\noutput = "${output}"\n[ptt]\nhangMs = 400\nattackMs = 120\n${noKiss}`
    const lookAt = async (text: string): Promise<string> =>
      (await report(text, '--no-devices')).look.map((one) => `${one.about}: ${one.text}`).join('\n')

    it('names what else keys it, and what lengthens it', async () => {
      const found = await lookAt(vox())
      expect(found).toMatch(/^ptt\.kind: no key line: .*nothing here can unkey it/m)
      expect(found).toMatch(
        /^audio\.output: whatever else plays on the same card .*sounds of a desktop/m,
      )
      expect(found).toMatch(/^ptt\.hangMs: switch off.*roger beep.*battery saver/m)
      expect(found).not.toMatch(/one that all programs share|VOX delay/)
      expect(found).toMatch(/^transmit\.slotTimeMs: 100 ms; a slot is taken as 120 ms/m)
      const one = await report(vox(), '--no-devices')
      expect(lineOf(one, 'keyed by')).toBe(
        'nothing: the radio keys itself on audio (VOX), and stays on the air for 400 ms after',
      )
      expect(one.mend).toEqual([])
    })

    it('says so of a card that all programs share, and of a long hang', async () => {
      expect(await lookAt(vox('', 'alsa:default'))).toMatch(
        /alsa:default is one that all programs share/,
      )
      expect(await lookAt(vox().replace('hangMs = 400', 'hangMs = 501'))).toMatch(
        /^ptt\.hangMs: for 501 ms after each transmission nobody is heard here/m,
      )
      expect(await lookAt(vox().replace('hangMs = 400', 'hangMs = 500'))).not.toMatch(
        /nobody is heard/,
      )
    })

    it('cannot send Morse whose gaps outlast its hang', async () => {
      const morse = (wordsPerMinute: number): string =>
        vox(`[transmit.morse]\nenabled = true\nwordsPerMinute = ${wordsPerMinute}\n`)
      // PARIS with its gap is 50 dots: a gap of 7 dots is 467 ms at 18 words a minute, 420 at 20
      const slow = await report(morse(18).replace('hangMs = 400', 'hangMs = 466'), '--no-devices')
      expect(slow.mend).toEqual([
        expect.objectContaining({
          about: 'transmit.morse',
          text: expect.stringMatching(/silent for 467 ms/),
        }),
      ])
      const quick = await report(morse(18).replace('hangMs = 400', 'hangMs = 468'), '--no-devices')
      expect(quick.mend).toEqual([])
    })
  })

  it('rules: hard contradictions are to mend, what only the licensee knows is to look at', async () => {
    const hf = await report(
      station + sending.replace('145.01', '14.2') + keyed + noKiss,
      '--no-devices',
    )
    expect(hf.mend.map(({ text }) => text).join('\n')).toMatch(
      /below 50 MHz unattended.*97\.221\(b\), \(c\); local rules come first/,
    )
    const shared = await report(
      station + sending.replace('145.01', '144.8') + keyed + noKiss,
      '--no-devices',
    )
    expect(shared.mend).toEqual([])
    expect(shared.look.map(({ text }) => text).join('\n')).toMatch(
      /shared APRS-format frequency of Europe.*common practice; local rules come first/,
    )
  })

  it('what may not be sent is not answered', async () => {
    const silent = await report(station + noKiss, '--no-devices')
    expect(lineOf(silent, 'answers')).toBe('none: sending is off')
    const sends = await report(station + sending + keyed + noKiss, '--no-devices')
    expect(lineOf(sends, 'answers')).toBe('to questions on the air')
    const off = await report(
      `${station}${sending}${keyed}${noKiss}[node]\nanswer = false\n`,
      '--no-devices',
    )
    expect(lineOf(off, 'answers')).toBe('none: node.answer is false')
  })

  it('beacons that come oftener than the reference asks for are told of', async () => {
    const told = async (schedule: string): Promise<readonly string[]> => {
      const beacons = `[[beacons.schedule]]\n${schedule}\n`
      const one = await report(station + sending + keyed + noKiss + beacons, '--no-devices')
      return one.look.filter((note) => note.about === 'beacons.schedule').map(({ text }) => text)
    }
    expect(await told('send = "position"\neveryMinutes = 19\npath = ["WIDE2-2"]')).toEqual([
      'position every 19 min by way of WIDE2-2: the APRS reference (chapter 2) asks for 20 min or more',
    ])
    expect(await told('send = "status"\neveryMinutes = 9')).toHaveLength(1)
    expect(await told('send = "position"\neveryMinutes = 20\npath = ["WIDE2-2"]')).toEqual([])
    expect(await told('send = "telemetry"\neveryMinutes = 5')).toEqual([])
    expect(await told('send = "status"\ncron = "* * * * *"')).toEqual([])
  })

  it('KISS clients that may stop a radio from listening are told of', async () => {
    const told = async (kiss: string): Promise<boolean> => {
      const one = await report(`[audio]\ninput = "pcm:-"\n${noKiss}[kiss]\n${kiss}`)
      return about(one.look).includes('kiss.fullDuplexAllowed')
    }
    expect(await told('fullDuplexAllowed = true')).toBe(true)
    expect(await told('')).toBe(false)
    expect(await told('fullDuplexAllowed = true\nreceiveOnly = true')).toBe(false)
  })

  it('an identification that cannot fit is told before it is owed', async () => {
    const one = await report(
      station +
        sending.replace('enabled = true', 'enabled = true\nkeyDelayMs = 1500\ntimeOutMs = 1000') +
        keyed +
        noKiss,
      '--no-devices',
    )
    expect(one.mend).toEqual([
      expect.objectContaining({
        about: 'transmit.timeOutMs',
        text: expect.stringMatching(/identification would take \d+ ms.*lower keyDelayMs/),
      }),
    ])
  })

  it('devices that are not there, each with what to do', async () => {
    const one = await report(`${station}${sending}[audio]
input = "wav:none.wav"
output = "wav:out.wav"
[ptt]
kind = "serial"
device = "/dev/ridgepost-none"
line = "rts"
[node.gps]
device = "/dev/ridgepost-gps"
${noKiss}`)
    expect(about(one.mend)).toEqual(['node.gps.device', 'audio.input', 'ptt.device'])
    expect(one.mend[2]!.text).toMatch(/it is not there: is it plugged in/)
    const command = await report(
      `${station}${sending}${files}keyCommand = ["no-such-program"]\nunkeyCommand = ["true"]\n${noKiss}`,
    )
    expect(command.mend).toEqual([
      expect.objectContaining({ text: 'cannot be run: no-such-program' }),
    ])
    const unlooked = await report(
      `${station}${sending}${files}keyCommand = ["no-such-program"]\nunkeyCommand = ["true"]\n${noKiss}`,
      '--no-devices',
    )
    expect(unlooked.exitCode).toBe(0)
  })

  const alsa = spawnSync('arecord', ['--version']).status === 0
  it.skipIf(!alsa)('sound cards are really opened (needs alsa-utils)', async () => {
    const audio = (input: string) =>
      report(`[audio]\ninput = "alsa:${input}"\n${noKiss}[services.own]\n`)
    expect((await audio('null')).good).toContain('audio input: alsa:null gives audio')
    const none = await audio('plughw:CARD=NoSuchCard')
    expect(none.mend).toEqual([
      expect.objectContaining({
        about: 'audio.input',
        text: expect.stringMatching(/NoSuchCard/),
      }),
    ])
  })

  it('key lines are looked at, never opened: a file that stands for one is not touched', async () => {
    writeFileSync(join(folder, 'hidraw0'), '')
    const one = await report(`${station}${sending}[audio]
input = "pcm:-"
output = "wav:out.wav"
[ptt]
kind = "hid"
device = "${join(folder, 'hidraw0')}"
line = 3
${noKiss}`)
    expect(one.good).toContain(`ptt.device: ${join(folder, 'hidraw0')} is there`)
    expect(one.mend).toEqual([])
    expect(existsSync(join(folder, 'out.wav'))).toBe(false)
  })

  it('data files: loaded for real, bad rows named by line, missing ones to mend', async () => {
    writeFileSync(
      join(folder, 'repeaters.csv'),
      'Call,Output,Latitude,Longitude\nN0CALL,146.94,47.2,-121.1\nN0CALL,146.9,91.5,-121.1\n',
    )
    const one = await report(
      `[audio]\ninput = "pcm:-"\n${noKiss}[services]\noff = ["bord"]\n[services.repeaters]\nfile = "repeaters.csv"\n[services.pass]\nfile = "none.txt"\n`,
    )
    expect(one.good.join('\n')).toMatch(/repeaters: 1 entries of .*repeaters\.csv/)
    expect(about(one.mend)).toEqual(['pass'])
    const words = one.look.map(({ text }) => text).join('\n')
    expect(words).toMatch(/left out: .*:3: /)
    expect(words).toMatch(/"bord" is not a service/)
    const notOffered = one.look.filter(({ text }) => text.startsWith('is not offered'))
    expect(about(notOffered)).toEqual(['pass'])
    expect(one.good).toContain('find: not offered, no topics are stored')
  })

  it.skipIf(process.getuid?.() === 0)(
    'a database that cannot be written (not as root)',
    async () => {
      mkdirSync(join(folder, 'shut'))
      chmodSync(join(folder, 'shut'), 0o500)
      const one = await report(`[audio]\ninput = "pcm:-"\n${noKiss}[store]\nfile = "shut/a/b.db"\n`)
      expect(one.mend).toEqual([
        expect.objectContaining({ about: 'store.file', text: expect.stringMatching(/EACCES/) }),
      ])
    },
  )

  it('a database under something that is no folder', async () => {
    writeFileSync(join(folder, 'file'), '')
    const one = await report(`[audio]\ninput = "pcm:-"\n${noKiss}[store]\nfile = "file/b.db"\n`)
    expect(about(one.mend)).toEqual(['store.file'])
  })

  it('a pseudo-terminal needs its relay program and a folder that may be written', async () => {
    const text = `[audio]\ninput = "pcm:-"\n${noKiss}[kiss]\npseudoTerminals = ["${folder}/kiss"]\n`
    const without = await runCommand(checkCommand, [write(text), '--format', 'json'], {
      clock: systemClock(),
      env: { PATH: folder },
    })
    expect(about((JSON.parse(without.stdout) as Report).mend)).toEqual(['kiss.pseudoTerminals'])
    writeFileSync(join(folder, 'socat'), '', { mode: 0o755 })
    const withIt = await runCommand(checkCommand, [write(text), '--format', 'json'], {
      clock: systemClock(),
      env: { PATH: folder },
    })
    expect((JSON.parse(withIt.stdout) as Report).mend).toEqual([])
  })

  it('KISS beyond loopback: without names to mend, with names to look at', async () => {
    const open = (more: string) =>
      report(`[audio]\ninput = "pcm:-"\n[kiss.tcp]\naddress = "0.0.0.0"\nport = 0\n${more}`)
    expect(about((await open('')).mend)).toEqual(['kiss.tcp.allow'])
    const named = await open('allow = ["192.0.2.0/24"]')
    expect(named.mend).toEqual([])
    expect(about(named.look)).toContain('kiss.tcp')
    expect(about((await open('allow = ["192.0.2.0/40"]')).mend)).toEqual(['kiss.tcp'])
  })

  it('a KISS port that is taken is told', async () => {
    const server: Server = createServer()
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
    const { port } = server.address() as { port: number }
    const one = await report(`[audio]\ninput = "pcm:-"\n[kiss.tcp]\nport = ${port}\n`)
    server.close()
    expect(about(one.look)).toContain('kiss.tcp.port')
    expect(one.exitCode).toBe(0)
  })

  it('every radio is looked at, and findings say whose they are', async () => {
    const radio = (name: string, more: string) =>
      `[[radio]]\nname = "${name}"\n[radio.audio]\ninput = "pcm:-"\n${more}`
    const one = await report(
      station +
        radio('west', '') +
        radio('east', '[radio.transmit]\nenabled = true\nfrequencyMHz = 144.05\n') +
        noKiss,
    )
    expect(one.plan.map((part) => part.heading)).toEqual([
      'Station',
      'Radio 0, "west"',
      'Radio 1, "east"',
      'Offered',
    ])
    expect(one.mend.every((found) => found.about.startsWith('radio 1: '))).toBe(true)
    expect(one.mend.map(({ text }) => text).join('\n')).toMatch(/data may be sent from 144\.1 MHz/)
  })

  it('an external modem needs no audio and no key line', async () => {
    const one = await report(`${station}${sending}[modem]
kind = "tcp"
host = "modem.example"
port = 7000
${noKiss}`)
    expect(one.mend).toEqual([])
    expect(lineOf(one, 'modem')).toBe('external, modem.example:7000, its port 0')
    expect(lineOf(one, 'keyed by')).toBe('')
  })

  it('a configuration that is wrong: all problems at once, exit 1, and still the cautions', async () => {
    const one = await report('[transmit]\nenabld = true\npowerW = "much"\n')
    expect(one.mend.map(({ text }) => text)).toEqual([
      expect.stringMatching(/transmit\.powerW: got "much", expected a number/),
      expect.stringMatching(/transmit\.enabld: got an unknown key/),
    ])
    expect(one.exitCode).toBe(1)
    expect(one.cautions.length).toBeGreaterThanOrEqual(6)
    const missing = await runCommand(checkCommand, [join(folder, 'none.toml')])
    expect(missing.exitCode).toBe(1)
    expect(missing.stderr).toMatch(/cannot be read: no such file; `ridgepost setup`/)
  })
})

// The text is what alsa-utils' amixer prints for a card of each kind, from memory of its source (amixer.c); no card is here.
import { chmodSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import {
  mixerArguments,
  parseInputControls,
  readInputControls,
} from '../../src/audio/mixerControls.js'
import { adviseOnControls } from '../../src/cli/levels/levelsAdvice.js'

const usbDongle = `Simple mixer control 'Speaker',0
  Capabilities: pvolume pswitch pswitch-joined
  Playback channels: Front Left - Front Right
  Limits: Playback 0 - 37
  Mono:
  Front Left: Playback 20 [54%] [-17.00dB] [on]
  Front Right: Playback 20 [54%] [-17.00dB] [on]
Simple mixer control 'Mic',0
  Capabilities: pvolume pvolume-joined cvolume cvolume-joined pswitch pswitch-joined cswitch cswitch-joined
  Playback channels: Mono
  Capture channels: Mono
  Limits: Playback 0 - 127 Capture 0 - 16
  Mono: Playback 96 [76%] [0.00dB] [off] Capture 9 [56%] [13.00dB] [on]
Simple mixer control 'Auto Gain Control',0
  Capabilities: pswitch pswitch-joined
  Playback channels: Mono
  Mono: Playback [on]
`
const mainboard = `Simple mixer control 'Capture',0
  Capabilities: cvolume cswitch
  Capture channels: Front Left - Front Right
  Limits: Capture 0 - 63
  Front Left: Capture 39 [62%] [12.00dB] [off]
  Front Right: Capture 39 [62%] [12.00dB] [off]
Simple mixer control 'Capture',1
  Capabilities: cvolume cswitch
  Front Left: Capture 0 [0%] [-17.25dB] [on]
Simple mixer control 'Front Mic Boost',0
  Capabilities: volume
  Playback channels: Front Left - Front Right
  Limits: 0 - 3
  Front Left: 2 [67%] [20.00dB]
  Front Right: 2 [67%] [20.00dB]
Simple mixer control 'Loopback Mixing',0
  Capabilities: enum
  Items: 'Disabled' 'Enabled'
  Item0: 'Disabled'
`

describe('the mixer of a card', () => {
  it('finds gain, automatic gain and boost of the input, and nothing else', () => {
    expect(parseInputControls(usbDongle)).toEqual([
      { name: 'Mic', kind: 'gain', percent: 56, gainDb: 13, isOn: true },
      {
        name: 'Auto Gain Control',
        kind: 'automatic gain',
        percent: undefined,
        gainDb: undefined,
        isOn: true,
      },
    ])
    expect(parseInputControls(mainboard)).toEqual([
      { name: 'Capture', kind: 'gain', percent: 62, gainDb: 12, isOn: false },
      { name: 'Capture,1', kind: 'gain', percent: 0, gainDb: -17.25, isOn: true },
      { name: 'Front Mic Boost', kind: 'boost', percent: 67, gainDb: 20, isOn: undefined },
    ])
    for (const text of ['', 'amixer: Mixer attach hw:7 error', "Simple mixer control 'x"])
      expect(parseInputControls(text)).toEqual([])
  })

  it('names the command for each', () => {
    expect(adviseOnControls(parseInputControls(usbDongle), ['-c', 'Device'])).toEqual([
      "Mic is 56 %, 13 dB; set it with: amixer -c Device sset 'Mic' 56%",
      "Auto Gain Control is on: switch it off, it turns packets into noise and back: amixer -c Device sset 'Auto Gain Control' off",
    ])
    const [capture, , boost] = adviseOnControls(parseInputControls(mainboard), ['-c', '0'])
    expect(capture).toBe("Capture is 62 %, 12 dB, and switched off: amixer -c 0 sset 'Capture' cap")
    expect(boost).toMatch(/^Front Mic Boost is on \(67 %, 20 dB\): .* 'Front Mic Boost' 0$/)
  })

  it.each([
    ['plughw:CARD=Device,DEV=0', ['-c', 'Device']],
    ['hw:1,0', ['-c', '1']],
    ['plughw:2', ['-c', '2']],
    ['default', ['-D', 'default']],
    ['testin', undefined],
    ['hw:-rf', undefined],
  ])('the card of %s', (device, expected) => {
    expect(mixerArguments(device)).toEqual(expected)
  })
})

describe('readInputControls', () => {
  let folder: string | undefined
  afterEach(() => {
    if (folder !== undefined) rmSync(folder, { recursive: true })
  })
  const withAmixer = (script: string) => {
    folder = mkdtempSync(join(tmpdir(), 'ridgepost-mixer-'))
    const file = join(folder, 'amixer')
    writeFileSync(file, `#!/bin/sh\n${script}\n`)
    chmodSync(file, 0o755)
    return { PATH: `${folder}:${process.env.PATH}` }
  }

  it('asks amixer for the card; a failure or a missing program gives no controls', async () => {
    const answer = `[ "$1 $2 $3" = "-c Device scontents" ] && cat <<'END'\n${usbDongle}END`
    const env = withAmixer(answer)
    expect(await readInputControls('plughw:CARD=Device,DEV=0', env)).toHaveLength(2)
    expect(await readInputControls('plughw:CARD=Other,DEV=0', env)).toEqual([])
    const none = { PATH: folder! }
    rmSync(join(folder!, 'amixer'))
    expect(await readInputControls('plughw:CARD=Device,DEV=0', none)).toEqual([])
  })
})

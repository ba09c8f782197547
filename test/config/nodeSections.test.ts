import { describe, expect, it } from 'vitest'
import { duplicateWindowMs } from '../../src/aprs/path.js'
import { ConfigInvalid, parseConfig } from '../../src/config/load.js'
import { beaconKinds } from '../../src/node/beaconOptions.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { nodeOptions, storeOptions } from '../../src/setup/nodeOptions.js'

const problemsOf = (text: string): readonly string[] => {
  try {
    parseConfig(text, 'node.toml')
    return []
  } catch (error) {
    if (error instanceof ConfigInvalid) return error.problems
    throw error
  }
}

describe('configuration of node, beacons, store and log', () => {
  it('an empty file gives the defaults, in the units of the program', () => {
    const { answers, copies, mailbox, beacons } = nodeOptions(parseConfig('', 'node.toml'))
    expect(answers).toMatchObject({ gapsMs: [8_000, 16_000, 32_000, 64_000], notAfterMs: 600_000 })
    expect(mailbox).toMatchObject({ keepMs: 604_800_000, promptEveryMs: 7_200_000 })
    expect(beacons).toMatchObject({ schedules: [], notAfterMs: 120_000, symbol: '/r' })
    // what digipeaters take for a copy, the node does too
    expect(copies.unnumberedMs).toBe(duplicateWindowMs)
  })

  it('writes SSID 0 as the air does: not at all', () => {
    const config = parseConfig('[station]\ncall = "N0CALL-0"\n', 'node.toml')
    expect(config.station.call).toBe('N0CALL')
  })

  it('maps what is set, units converted once', () => {
    const config = parseConfig(
      `[station]
       call = "N0CALL-10"
       latitudeDeg = 46.5
       longitudeDeg = 8.25
       [node]
       retryGapsS = [10, 20]
       [[node.alias]]
       name = "INFO"
       services = ["help"]
       [node.mailbox]
       deliver = "at-once"
       keepDays = 2
       [[beacons.schedule]]
       send = "position"
       everyMinutes = 20
       path = ["WIDE2-1"]
       [[beacons.schedule]]
       send = "services"
       cron = "0 * * * *"
       [[beacons.object]]
       name = "HUT"
       latitudeDeg = 46.6
       longitudeDeg = 8.3
       [store]
       file = "data/node.db"
       sizeMbMax = 100`,
      'node.toml',
    )
    const options = nodeOptions(config, {
      nearestRepeaters: (count) => Array.from({ length: count }, () => ({}) as never),
    })
    expect(options).toMatchObject({
      call: 'N0CALL-10',
      position: { latitudeDeg: 46.5, longitudeDeg: 8.25 },
      aliases: [{ name: 'INFO', services: ['help'] }],
      answers: { gapsMs: [10_000, 20_000] },
      mailbox: { deliver: 'at-once', keepMs: 172_800_000 },
    })
    expect(options.beacons?.schedules).toMatchObject([
      { kind: 'position', everyMs: 1_200_000, path: ['WIDE2-1'] },
      { kind: 'services', cron: '0 * * * *' },
    ])
    expect(options.beacons?.objects?.()).toMatchObject([{ name: 'HUT', symbol: '/r' }])
    const store = storeOptions(config, '/etc/ridgepost', virtualClock(), () => {})
    expect(store).toMatchObject({
      file: '/etc/ridgepost/data/node.db',
      flushIntervalMs: 30_000,
      retention: { keepMs: 1_209_600_000, sizeBytesMax: 100e6 },
    })
  })

  it('says what is wrong, with the key', () => {
    const problems = problemsOf(
      `[node]
       replyPath = "straight"
       configuredPath = ["wide1-1"]
       [[beacons.schedule]]
       send = "position"
       [[beacons.schedule]]
       send = "status"
       cron = "now and then"
       [[beacons.telemetry]]
       name = "Volt"
       unit = "V"
       [log]
       level = "loud"`,
    )
    expect(problems).toEqual([
      'node.toml: node.replyPath: got "straight", expected one of "reverse", "configured"',
      'node.toml: node.configuredPath.0: got "wide1-1", expected a digipeater such as "WIDE1-1" or "N0CALL-1"',
      'node.toml: beacons.schedule.0: got {"send":"position"}, expected either everyMinutes or cron',
      'node.toml: beacons.schedule.1.cron: got "now and then", expected five cron fields, such as "0,30 * * * *"',
      'node.toml: beacons.telemetry.0: got {"name":"Volt","unit":"V"}, expected either file or command',
      'node.toml: log.level: got "loud", expected one of "quiet", "normal", "all"',
    ])
  })

  it('knows the beacons that the node knows, and no others', () => {
    const schedules = beaconKinds.map(
      (kind) => `[[beacons.schedule]]\nsend = "${kind}"\neveryMinutes = 10\n`,
    )
    expect(problemsOf(schedules.join(''))).toEqual([])
    const [problem] = problemsOf('[[beacons.schedule]]\nsend = "news"\neveryMinutes = 10\n')
    const known = beaconKinds.map((kind) => `"${kind}"`).join(', ')
    expect(problem).toContain(`got "news", expected one of ${known}`)
  })

  it.each(['EMERGENCY heard', 'SOS heard', '... mayday', 'Notfall gehört'])(
    'a reply to a call for help is none itself: "%s"',
    (reply) => {
      expect(problemsOf(`[emergency]\nreply = "${reply}"\n`).join()).toContain('emergency.reply')
    },
  )

  it('a reply may name the emergency number', () => {
    expect(problemsOf('[emergency]\nreply = "Call the emergency number."\n')).toEqual([])
  })
})

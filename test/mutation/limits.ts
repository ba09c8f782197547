// Moves each limit of the table by one, up and down, and looks whether a test fails: `npm run mutate -- limits [FILE …]`. What
// no test notices is listed; the exit status is 1 then.
import { spawnSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { root } from '../tidy/sources.js'

/** Constants by name, and comparisons with what each becomes, of a file; and the tests that hold them. */
interface Limits {
  readonly tests: string
  readonly names?: readonly string[]
  readonly changes?: readonly (readonly [from: string, to: string])[]
}

const codecs = 'test/limits/codecs.test.ts'
const node = 'test/limits/node.test.ts'
const radio = 'test/limits/radio.test.ts'
const store = 'test/limits/store.test.ts'
const services = 'test/limits/services.test.ts'
const connected = 'test/limits/connected.test.ts'

const limits: Readonly<Record<string, Limits>> = {
  'dsp/framing/hdlcDecoder.ts': {
    tests: codecs,
    names: ['shortestFrameOctets', 'longestFrameOctets', 'flagBitsCollected'],
    changes: [
      ['ones <= 5', 'ones <= 4'],
      ['ones <= 5', 'ones <= 6'],
      ['ones === 7', 'ones === 8'],
      ['ones === 6', 'ones === 7'],
      ['ones !== 5', 'ones !== 4'],
    ],
  },
  'src/node/connected/terminal.ts': { tests: connected, names: ['lineOctetsMax'] },
  'src/node/connected/connections.ts': { tests: connected, names: ['callsMax'] },
  'src/ax25/frame.ts': { tests: codecs, names: ['digipeaterCountMax', 'informationOctetCountMax'] },
  'src/aprs/messageText.ts': {
    tests: codecs,
    names: ['messageCharactersMax', 'headOctetCount', 'tailOctetCount'],
  },
  'src/aprs/format.ts': {
    tests: codecs,
    names: ['commentMax', 'statusTextMax', 'timedStatusTextMax'],
  },
  'src/aprs/parse.ts': { tests: codecs, names: ['thirdPartyDepthMax', 'latePositionMax'] },
  'src/aprs/path.ts': {
    tests: `${codecs} ${node}`,
    names: ['duplicateWindowMs'],
    changes: [['path.length >= digipeaterCountMax', 'path.length > digipeaterCountMax']],
  },
  'src/radio/clientFrame.ts': {
    tests: codecs,
    names: ['informationOctetsMax'],
    changes: [
      ['frame.path.length > digipeaterCountMax', 'frame.path.length >= digipeaterCountMax'],
    ],
  },
  'src/node/attention.ts': { tests: node, names: ['repairedBitsMax'] },
  'src/node/intake.ts': { tests: node, names: ['thirdPartyDepthMax'] },
  'src/node/rateLimit.ts': {
    tests: node,
    changes: [
      ['nowMs - atMs < windowMs', 'nowMs - atMs <= windowMs'],
      ['namesMax = 5_000', 'namesMax = 5_001'],
      ['namesMax = 5_000', 'namesMax = 4_999'],
    ],
  },
  'src/node/askLimits.ts': {
    tests: node,
    names: ['notUnderstoodMax', 'guessedMax'],
    changes: [['< limits.perStation', '<= limits.perStation']],
  },
  'src/node/queryAnswers.ts': { tests: node, names: ['generalRepliesMax'] },
  'src/node/emergencyTurns.ts': {
    tests: node,
    names: ['atOnceMax'],
    changes: [
      ['nowMs() - atMs < emergencyWindowMs', 'nowMs() - atMs <= emergencyWindowMs'],
      ['>= unasked.max', '> unasked.max'],
    ],
  },
  'src/node/emergencyMarks.ts': {
    tests: node,
    names: ['markedMax', 'markedOfStationMax', 'emergencyWindowMs'],
    changes: [
      ['max: 3,', 'max: 4,'],
      ['6 * 3_600_000 }', '6 * 3_600_000 + 1 }'],
    ],
  },
  'src/node/radioJournal.ts': { tests: node, names: ['keptAnHour', 'windowMs'] },
  'src/node/copies.ts': {
    tests: node,
    changes: [
      ['entry.firstMs > windowMs', 'entry.firstMs >= windowMs'],
      ['keysMax = 2_000', 'keysMax = 2_001'],
      ['keysMax = 2_000', 'keysMax = 1_999'],
    ],
  },
  'src/store/questions.ts': {
    tests: `${store} ${node}`,
    changes: [['ages.ageMs(question) <= windowMs', 'ages.ageMs(question) < windowMs']],
  },
  'src/node/viaTable.ts': { tests: node, names: ['stationsMax'] },
  'src/node/retry.ts': {
    tests: node,
    changes: [
      ['attempts <= gapsMs.length', 'attempts < gapsMs.length'],
      ['error: 1,', 'error: 2,'],
      ['emergency: 2,', 'emergency: 3,'],
      ['3_600_000)', '3_600_001)'],
    ],
  },
  'src/node/turns.ts': {
    tests: node,
    changes: [['window - own.filter(isOpen)', 'window + 1 - own.filter(isOpen)']],
  },
  'src/node/sendQueue.ts': {
    tests: node,
    changes: [
      ['items.length > itemsMax', 'items.length >= itemsMax'],
      ['notAfterMs <= nowMs', 'notAfterMs < nowMs'],
    ],
  },
  'src/node/messageNumber.ts': { tests: node, names: ['plainCount', 'shortCount'] },
  'src/node/acknowledgements.ts': { tests: node, names: ['digipeatedWithinMs', 'tooSoonMs'] },
  'src/node/mailRules.ts': {
    tests: node,
    changes: [
      ['>= limits.total', '> limits.total'],
      ['>= limits.perSender', '> limits.perSender'],
      ['>= limits.perReceiver', '> limits.perReceiver'],
    ],
  },
  'src/node/board.ts': {
    tests: node,
    changes: [
      ['own >= options.perSender', 'own > options.perSender'],
      ['all >= options.total', 'all > options.total'],
    ],
  },
  'src/node/mailHandingOver.ts': {
    tests: node,
    names: ['tryAgainMs'],
    changes: [
      ['promptCount < promptsMax', 'promptCount <= promptsMax'],
      ['>= promptEveryMs', '> promptEveryMs'],
    ],
  },
  'src/node/mailLeaving.ts': { tests: node, names: ['heardLatelyMs'] },
  'src/node/mailMessages.ts': { tests: node, names: ['carryMs'] },
  'src/node/gps.ts': {
    tests: node,
    names: ['fixAgeMaxMs', 'clockAgeMaxMs', 'lineCharactersMax'],
  },
  'src/radio/persistence.ts': {
    tests: radio,
    names: ['slotTimeMsMin'],
    changes: [['<= access.persistence', '< access.persistence']],
  },
  'src/radio/transmitQueue.ts': {
    tests: radio,
    changes: [
      ['items.length >= itemsMax', 'items.length > itemsMax'],
      ['item.notAfterMs <= nowMs', 'item.notAfterMs < nowMs'],
      ["indexOf('emergency') + 1", "indexOf('emergency')"],
    ],
  },
  'src/radio/dutyLedger.ts': {
    tests: radio,
    changes: [
      ['span.toMs - longestWindowMs', 'span.toMs - longestWindowMs + 2'],
      ['share <= 1)', 'share < 1)'],
      ['share > 0 &&', 'share >= 0 &&'],
    ],
  },
  'src/radio/identification.ts': {
    tests: radio,
    names: ['identificationLimitMs', 'triesMax', 'triesShare'],
    changes: [['- 30_000', '- 30_001']],
  },
  'src/radio/runningTransmission.ts': { tests: radio, names: ['keyWaitMs'] },
  'src/radio/boundedPort.ts': { tests: radio, names: ['burstMax', 'framesPerSecond'] },
  'src/runtime/allowance.ts': {
    tests: radio,
    changes: [['left < amount', 'left <= amount']],
  },
  'src/runtime/clockTrust.ts': {
    tests: radio,
    names: ['agreementMs', 'stepMsMin', 'gpsOffMsMax', 'gpsAgeMaxMs', 'markOffMsMax', 'aheadMsMax'],
  },
  'src/runtime/guard.ts': { tests: radio, names: ['placesMax'] },
  'src/setup/silentRadios.ts': { tests: radio, names: ['silentMsMax'] },
  'src/store/retention.ts': {
    tests: store,
    names: ['rowsPerStep', 'stepPauseMs', 'firstLookMs', 'oldEveryMs'],
    changes: [
      ['nowWallMs - options.keepMs', 'nowWallMs - options.keepMs + 1'],
      ['nowWallMs - options.keepStationsMs', 'nowWallMs - options.keepStationsMs + 1'],
      ['<= options.sizeBytesMax', '< options.sizeBytesMax'],
    ],
  },
  'src/store/flushTimer.ts': {
    tests: store,
    changes: [['flushIntervalMs)', 'flushIntervalMs + 1)']],
  },
  'src/store/writer.ts': { tests: store, names: ['soonMs'] },
  'src/store/stations.ts': { tests: store, names: ['signalsKept', 'hoursKept'] },
  'src/store/store.ts': {
    tests: store,
    changes: [['?? 20_000', '?? 20_001']],
  },
  'src/store/mailbox.ts': { tests: store, changes: [['expires_ms <= ?', 'expires_ms < ?']] },
  'src/services/splitAnswer.ts': { tests: services, names: ['messagesMaxDefault'] },
  'src/services/dispatch.ts': { tests: services, names: ['messagesMaxEver'] },
  'src/services/board.ts': { tests: services, names: ['shownDefault', 'shownMax'] },
  'src/services/heard.ts': { tests: services, names: ['listedMax'] },
  'src/services/signal.ts': { tests: services, names: ['framesMax', 'measuredWithinMs'] },
  'src/services/geo/reference.ts': {
    tests: services,
    names: ['saidFromMs', 'sameM'],
    changes: [['askerPosition.ageMs <= ageMaxMs', 'askerPosition.ageMs < ageMaxMs']],
  },
  'src/services/own/ownData.ts': {
    tests: services,
    names: ['keysMax', 'keyCharactersMax', 'valueCharactersMax', 'charactersMax'],
  },
  'src/control/codeCheck.ts': {
    tests: services,
    names: ['triesWindowMs', 'triesMax', 'timeStepsEitherWay'],
  },
  'src/control/controlCommand.ts': { tests: services, names: ['holdMsMax'] },
  'src/control/stationHold.ts': { tests: services, names: ['confirmMs'] },
}

interface Mutant {
  readonly file: string
  readonly from: string
  readonly to: string
  readonly tests: string
}

function mutantsOf([file, { tests, names = [], changes = [] }]: [string, Limits]): Mutant[] {
  const text = readFileSync(join(root, file), 'utf8')
  const moved = names.flatMap((name) => {
    const [from, value] = new RegExp(`const ${name} = ([^\\n]+)`).exec(text) ?? []
    if (from === undefined) throw new Error(`${file}: no limit ${name}`)
    return [`(${value}) + 1`, `(${value}) - 1`]
      .map((to) => `const ${name} = ${to}`)
      .map((to) => ({ file, from, to, tests }))
  })
  return [...moved, ...changes.map(([from, to]) => ({ file, from, to, tests }))]
}

/** @returns whether a test failed */
function isNoticed({ tests, ...mutant }: Mutant): boolean {
  const { status, stdout } = spawnSync(
    'npx',
    ['vitest', 'run', '--config', 'test/mutation/vitest.config.ts', ...tests.split(' ')],
    { cwd: root, env: { ...process.env, MUTANT: JSON.stringify(mutant) }, encoding: 'utf8' },
  )
  if (/stands there not once|No test files/.test(stdout)) throw new Error(stdout)
  return status !== 0
}

const wanted = process.argv.slice(2)
const chosen = Object.entries(limits).filter(
  ([file]) => wanted.length === 0 || wanted.some((one) => file.startsWith(one)),
)
const survivors: string[] = []
const mutants = chosen.flatMap(mutantsOf)
for (const mutant of mutants)
  if (!isNoticed(mutant)) survivors.push(`${mutant.file}: ${mutant.from} -> ${mutant.to}`)
console.log(`${mutants.length - survivors.length} of ${mutants.length} moved limits are noticed`)
for (const survivor of survivors) console.log(`not noticed: ${survivor}`)
process.exitCode = survivors.length === 0 ? 0 : 1

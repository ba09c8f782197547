import { mkdirSync, rmSync } from 'node:fs'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { damageFile, damageRows, makeOlder } from './damage.js'
import { airtimeName, type Disk } from './disk.js'
import { controlFileName } from './nodeLife.js'
import type { FaultKind, Stimulus } from './schedule.js'
import type { World } from './world.js'

type Fault = (world: World, stimulus: Stimulus, random: Random) => void

/** Makes a fault happen, and end in its time. */
export function applyFault(world: World, stimulus: Stimulus): void {
  world.faults.add(stimulus.kind)
  faults[stimulus.kind as FaultKind](world, stimulus, seededRandom(stimulus.seed))
}

const copied = (disk: Disk, folder: string): Disk => disk.copyTo(folder)

/** So long until systemd, or whoever it is, has started it again. */
const restartMs = (random: Random): number => 2_000 + random() * 15_000

function kill(world: World, random: Random): void {
  world.endLife(copied)
  world.startIn(restartMs(random))
}

/** With something done to its files while it is not running. */
function killAnd(world: World, random: Random, what: (file: string) => void): void {
  world.endLife((disk, folder) => {
    const copy = disk.copyTo(folder)
    what(copy.database)
    copy.isAsOnDisk()
    return copy
  })
  world.startIn(restartMs(random))
}

const faults: Readonly<Record<FaultKind, Fault>> = {
  kill: (world, { lastsMs }, random) => atTalk(world, lastsMs, random, () => kill(world, random)),
  'kill in a write': (world, { lastsMs }, random) => killInWrite(world, lastsMs, random),
  'kills one after the other': (world, _, random) =>
    killAgain(world, 3 + Math.floor(random() * 4), random),
  'power cut': (world, { lastsMs }, random) =>
    atTalk(world, lastsMs, random, () => cutPower(world, random)),
  'orderly restart': (world, _, random) => {
    void world.stopLife().then(() => world.startIn(restartMs(random)))
  },
  'disk full': (world, { lastsMs }) => diskFault(world, 'full', lastsMs),
  'disk read-only': (world, { lastsMs }) => diskFault(world, 'read-only', lastsMs),
  'disk slow': (world, { lastsMs }, random) => {
    const { life, disk } = world
    if (life === undefined) return
    disk.onCommit = (durable) => life.main.stall(random() * (durable ? 900 : 200))
    after(world, lastsMs, () => {
      disk.onCommit = () => {}
    })
  },
  'disk unusable at a start': (world, { lastsMs }, random) => unusable(world, lastsMs, random),
  'audio lost': (world, { lastsMs }) => {
    const { life } = world
    life?.radio.setAudioLost(true)
    after(world, lastsMs, () => {
      life?.radio.setAudioLost(false)
      world.recoveries.expect('audio came back', 'heard')
    })
  },
  'audio stalled': (world, _, random) => {
    for (let atMs = 0; atMs < 20_000; atMs += 2_000 + random() * 3_000)
      after(world, atMs, () => world.life?.radio.stallAudio(100 + random() * 850))
  },
  'audio slips': (world, { lastsMs, seed }) => {
    const { life } = world
    life?.radio.setSlips(seededRandom(seed + 1))
    excuse(world, 'slips', lastsMs, () => life?.radio.setSlips(undefined))
  },
  'output lost': (world, { lastsMs }) => {
    const { life } = world
    life?.radio.setOutputLost(true)
    after(world, lastsMs, () => {
      life?.radio.setOutputLost(false)
      world.recoveries.expect('the audio output came back', 'keyed')
    })
  },
  'helper killed': (world, _, random) => {
    const { life } = world
    life?.radio.setLineLost(true)
    after(world, 500 + random() * 8_000, () => {
      life?.radio.setLineLost(false)
      world.recoveries.expect('the helper of the key line came back', 'keyed')
    })
  },
  'clock set by seconds': (world, { lastsMs }, random) =>
    setClock(world, either(random) * (5_000 + random() * 290_000), lastsMs),
  'clock set by hours': (world, { lastsMs }, random) =>
    setClock(world, either(random) * (1 + random() * 11) * 3_600_000, lastsMs),
  'clock set by years': (world, { lastsMs }, random) =>
    setClock(world, either(random) * (1 + random() * 9) * yearMs, lastsMs),
  'service throws': (world, { lastsMs }) => misbehave(world, 'throws', lastsMs),
  'service hangs': (world, { lastsMs }) => misbehave(world, 'hangs', lastsMs),
  'service grows': (world, { lastsMs }) => misbehave(world, 'grows', lastsMs),
  'rows damaged': (world, { seed }, random) => {
    killAnd(world, random, (file) => damageRows(file, seed))
    world.forgetPast()
  },
  'file damaged': (world, { seed }, random) => {
    killAnd(world, random, (file) => damageFile(file, seed))
    world.forgetPast()
  },
  'older database': (world, { seed }, random) => {
    killAnd(world, random, (file) => makeOlder(file, seed, world.wall.wallMs()))
    world.forgetPast()
    world.recoveries.expect('an older database was brought up to date', 'migrated')
  },
  'database deleted': (world) => {
    for (const suffix of ['', '-wal', '-shm'])
      rmSync(world.disk.database + suffix, { recursive: true, force: true })
    world.forgetPast()
  },
}

const yearMs = 365.25 * 86_400_000

const either = (random: Random): number => (random() < 0.5 ? -1 : 1)

const after = (world: World, ms: number, run: () => void): void => {
  world.clock.at(world.clock.monotonicMs() + ms, run)
}

/** What the node fails to do meanwhile is no fault of its. */
export function excuse(world: World, name: string, ms: number, done = (): void => {}): void {
  const own = `${name} ${world.clock.monotonicMs()}`
  world.excuses.add(own)
  after(world, ms, () => {
    world.excuses.delete(own)
    done()
  })
}

/** Dies at one of the next statements that it gives to its database. */
function killInWrite(world: World, lastsMs: number, random: Random): void {
  const { life, disk } = world
  if (life === undefined) return
  let left = 1 + Math.floor(random() * 40)
  disk.onStatement = () => {
    if (--left !== 0 || world.life !== life) return
    disk.onStatement = () => {}
    kill(world, random)
  }
  after(world, lastsMs, () => {
    disk.onStatement = () => {}
  })
}

/** Half of them in the middle of a conversation, where most can be lost. */
function atTalk(world: World, lastsMs: number, random: Random, run: () => void): void {
  if (random() < 0.5) run()
  else world.atNextQuestion(lastsMs / 2, () => after(world, random() * 12_000, run))
}

function cutPower(world: World, random: Random): void {
  world.endLife((disk, folder) => disk.cutTo(folder, random))
  world.newBoot()
  world.transmit.forgetDebt()
  // A board without a clock chip wakes in some other year.
  if (random() < 0.3) setClock(world, -(1 + random() * 9) * yearMs, 60_000 + random() * 600_000)
  world.startIn(restartMs(random))
}

function killAgain(world: World, times: number, random: Random): void {
  world.endLife(copied)
  world.startIn(3_000)
  if (times > 1) after(world, 4_000 + random() * 8_000, () => killAgain(world, times - 1, random))
}

/** kiss.frameLifeS: a client's frame is sent so long after it came, or not at all. */
const clientFrameMsMax = 120_000

function diskFault(world: World, fault: 'full' | 'read-only', lastsMs: number): void {
  world.excuses.add('disk')
  world.disk.setFault(fault)
  const end = (): void => {
    world.disk.setFault('none')
    world.excuses.delete('disk')
    world.unrecordedUntilMs = world.clock.monotonicMs() + clientFrameMsMax
    world.recoveries.expect(`a disk that was ${fault} was written to again`, 'asked')
  }
  after(world, lastsMs, end)
}

/** What should be a file is a folder: the node runs without a database, until it is started again. */
function unusable(world: World, lastsMs: number, random: Random): void {
  const good: { disk?: Disk } = {}
  world.endLife((disk, folder) => {
    good.disk = disk.copyTo(`${folder}-kept`)
    const broken = disk.copyTo(folder)
    for (const suffix of ['', '-wal', '-heard'])
      rmSync(broken.database + suffix, { recursive: true, force: true })
    mkdirSync(broken.database)
    return broken
  })
  world.startIn(restartMs(random))
  world.forgetPast()
  after(world, lastsMs, () => {
    const { disk } = good
    if (disk === undefined) return
    // The files beside the database were usable all the time.
    for (const name of [controlFileName, airtimeName]) disk.takeFrom(world.disk, name)
    world.endLife(() => disk)
    world.forgetPast()
    world.startIn(restartMs(random))
  })
}

function setClock(world: World, ms: number, forMs: number): void {
  const set = (byMs: number): void => {
    world.wall.setWallBy(byMs)
    world.clockSet()
    // What is kept for days ends by the wall clock, once that is trusted again; so does what has a stamp of another year.
    if (Math.abs(byMs) > 86_400_000) world.forgetPast()
  }
  set(ms)
  after(world, forMs, () => set(-ms))
}

function misbehave(world: World, how: 'throws' | 'hangs' | 'grows', lastsMs: number): void {
  world.misbehaviour[how] = true
  excuse(world, how, lastsMs, () => {
    world.misbehaviour[how] = false
    world.recoveries.expect(`a service that ${how} does well again`, 'said')
  })
}

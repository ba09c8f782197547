// npm run test:debian: the Debian package in a real Debian 13 that boots systemd, from installation to purge.
// Each step is a line; the last line counts them. Where root or a program is missing all steps count as skipped.
import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { bootDebian, until, whyNot } from './bootedDebian.mjs'
import { newOwner } from './newOwner.mjs'

const root = join(import.meta.dirname, '..', '..')
const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'))
const laterVersion = `${version}+later`

/** A node on a file radio: audio comes out of a FIFO, goes into a pipe that nobody hears, and the key line is a log. */
const configuration = `
[station]
call = "Q7RDG-10"
latitudeDeg = 45.2310
longitudeDeg = -36.7420
[audio]
input = "fifo:/var/lib/ridgepost/in.fifo"
rateHz = 48000
[ptt]
kind = "log"
logFile = "/var/lib/ridgepost/edges.log"
[store]
file = "/var/lib/ridgepost/ridgepost.db"
`

const unit = (debian, property) =>
  debian.must('systemctl', 'show', '--value', '--property', property, 'ridgepost.service').trim()
const active = (debian) => unit(debian, 'ActiveState') === 'active'
const journal = (debian) => debian.must('journalctl', '-u', 'ridgepost', '-o', 'cat', '--no-pager')
const hears = (debian, text) =>
  debian.must('ridgepost', 'log', '--config', '/etc/ridgepost/node.toml').includes(text)

/** The steps in their order; each builds upon the one before. */
const steps = [
  [
    'apt installs it; with no configuration the service waits',
    (debian, known) => {
      known.installedAt = Date.now()
      const file = `/root/ridgepost_${version}.deb`
      debian.must('apt-get', 'install', '-y', '--no-install-recommends', file)
      if (debian.must('ridgepost', '--version').trim() !== version)
        throw new Error('another version answers')
      if (unit(debian, 'UnitFileState') !== 'enabled') throw new Error('the unit is not enabled')
      debian.must('systemctl', 'start', 'ridgepost')
      if (active(debian)) throw new Error('it runs without a configuration')
      debian.must('getent', 'passwd', 'ridgepost')
      for (const group of ['dialout', 'audio', 'gpio', 'plugdev'])
        debian.must('getent', 'group', group)
    },
  ],
  [
    'systemd finds no fault in the unit',
    (debian) => {
      const said = debian.run('systemd-analyze', 'verify', 'ridgepost.service')
      if (said.status !== 0 || /ridgepost/.test(said.stderr)) throw new Error(said.stderr)
    },
  ],
  [
    'a new owner types answers to setup, and a question by radio is answered within five minutes',
    async (debian, { installedAt }) => {
      const tookS = await newOwner(debian, installedAt)
      console.log(`        ${tookS.toFixed(0)} s from apt install to the answer on the air`)
    },
  ],
  [
    'the unit is active with a file radio, and check finds no error',
    async (debian) => {
      writeFileSync(join(debian.root, 'etc/ridgepost/node.toml'), configuration)
      debian.must('chgrp', 'ridgepost', '/etc/ridgepost/node.toml')
      debian.must('chmod', '640', '/etc/ridgepost/node.toml')
      debian.must('mkfifo', '-m', '660', '/var/lib/ridgepost/in.fifo')
      debian.must('chown', 'ridgepost:ridgepost', '/var/lib/ridgepost/in.fifo')
      // The watchdog's 60 s, shortened: the step that waits for it would only take longer.
      const dropIn = '/run/systemd/system/ridgepost.service.d'
      debian.must('mkdir', '-p', dropIn)
      debian.must('sh', '-c', `printf '[Service]\\nWatchdogSec=15\\n' > ${dropIn}/test.conf`)
      debian.must('systemctl', 'daemon-reload')
      debian.must('systemctl', 'start', 'ridgepost')
      await until('an active unit', 60_000, () => active(debian))
      debian.must(
        'runuser',
        '-u',
        'ridgepost',
        '--',
        'ridgepost',
        'check',
        '/etc/ridgepost/node.toml',
      )
    },
  ],
  [
    'it hears a frame out of the file radio and keeps it',
    async (debian) => {
      debian.must(
        'ridgepost',
        'encode',
        '--output',
        '/root/q.wav',
        '--gap',
        '1500',
        'Q1ABC-7>APZ000:>hello from the hut',
      )
      // 44 octets of header are less than a sample of noise
      debian.must('sh', '-c', 'tail -c +45 /root/q.wav > /var/lib/ridgepost/in.fifo')
      await until('the frame in the log', 90_000, () => hears(debian, 'hello from the hut'))
      if (/Warning/.test(journal(debian))) throw new Error('Node warns of something')
    },
  ],
  [
    'a process that is stopped (SIGSTOP) is ended by the watchdog and started again',
    async (debian) => {
      const before = unit(debian, 'MainPID')
      debian.must('kill', '-STOP', before)
      await until('another main process', 150_000, () => {
        const now = unit(debian, 'MainPID')
        return active(debian) && now !== before && now !== '0'
      })
      if (!/[Ww]atchdog/.test(debian.must('journalctl', '-u', 'ridgepost', '--no-pager')))
        throw new Error('the journal does not name the watchdog')
    },
  ],
  [
    'the hold file holds',
    async (debian) => {
      debian.must('touch', '/var/lib/ridgepost/hold')
      await until('a hold in the journal', 20_000, () =>
        /hold[^\n]*\/var\/lib\/ridgepost\/hold/.test(journal(debian)),
      )
      debian.must('rm', '/var/lib/ridgepost/hold')
      await until('a release in the journal', 20_000, () => /release/.test(journal(debian)))
    },
  ],
  [
    'an upgrade keeps configuration and database, and it runs again',
    async (debian) => {
      debian.must('dpkg', '-i', `/root/ridgepost_${laterVersion}.deb`)
      await until('an active unit', 60_000, () => active(debian))
      if (debian.must('ridgepost', '--version').trim() !== laterVersion)
        throw new Error('the old version answers')
      if (debian.must('cat', '/etc/ridgepost/node.toml') !== configuration)
        throw new Error('another configuration')
      if (!hears(debian, 'hello from the hut')) throw new Error('the frame is gone')
    },
  ],
  [
    'an upgrade leaves a stopped service stopped',
    (debian) => {
      debian.must('systemctl', 'stop', 'ridgepost')
      debian.must('dpkg', '-i', `/root/ridgepost_${laterVersion}.deb`)
      if (active(debian)) throw new Error('it runs')
    },
  ],
  [
    'removal keeps configuration and database; purge leaves nothing',
    (debian, { pathsBefore }) => {
      debian.must('dpkg', '-r', 'ridgepost')
      debian.must('test', '-f', '/etc/ridgepost/node.toml')
      debian.must('test', '-f', '/var/lib/ridgepost/ridgepost.db')
      debian.must('dpkg', '-P', 'ridgepost')
      const known = new Set(pathsBefore)
      const left = debian
        .paths()
        .filter((path) => !known.has(path) && !/^\/(root|etc\/[^/]+-$)/.test(path))
      if (left.length > 0) throw new Error(`left behind: ${left.slice(0, 20).join(' ')}`)
      if (debian.run('getent', 'passwd', 'ridgepost').status === 0)
        throw new Error('the user is still there')
    },
  ],
]

async function main() {
  const reason = whyNot()
  if (reason !== undefined) {
    console.log(`test:debian is skipped: ${reason}`)
    console.log(`debian: 0 passed, 0 failed, ${steps.length} skipped`)
    return
  }
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-package-'))
  let passed = 0
  let failed = 0
  try {
    const packageOf = (one) =>
      execFileSync(
        process.execPath,
        [join(root, 'src/packaging/debian.mjs'), '--version', one, '--output', folder],
        {
          encoding: 'utf8',
        },
      ).trim()
    const files = [version, laterVersion].map((one) => [one, packageOf(one)])
    console.log(`the package: ${(statSync(files[0][1]).size / 1e6).toFixed(1)} MB`)
    const debian = await bootDebian()
    try {
      for (const [one, file] of files) debian.copyIn(file, `/root/ridgepost_${one}.deb`)
      const known = { pathsBefore: debian.paths() }
      for (const [name, step] of steps) {
        const startedAt = Date.now()
        try {
          await step(debian, known)
          passed++
          console.log(`ok      ${name} (${((Date.now() - startedAt) / 1000).toFixed(1)} s)`)
        } catch (error) {
          failed++
          console.log(`FAILED  ${name}: ${error.message}`)
          console.log(journal(debian).split('\n').slice(-25).join('\n'))
          break
        }
      }
    } finally {
      await debian.close()
    }
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
  const skipped = steps.length - passed - failed
  console.log(`debian: ${passed} passed, ${failed} failed, ${skipped} skipped`)
  process.exitCode = failed > 0 ? 1 : 0
}

await main()

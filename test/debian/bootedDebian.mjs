// A Debian 13 of its own that really boots: debootstrap makes it, systemd-nspawn runs its systemd, nsenter reaches into it.
import { execFileSync, spawn, spawnSync } from 'node:child_process'
import { cpSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

const release = 'trixie'
const packages = 'systemd,systemd-sysv,dbus,udev,nodejs,procps'

/** Programs that are needed here, each with Debian's package. */
const needed = {
  debootstrap: 'debootstrap',
  'systemd-nspawn': 'systemd-container',
  nsenter: 'util-linux',
}

/** Why it can't run here; undefined when it can. */
export function whyNot() {
  if (process.getuid?.() !== 0) return 'it needs root'
  for (const [program, name] of Object.entries(needed)) {
    if (spawnSync('sh', ['-c', `command -v ${program}`]).status !== 0)
      return `it needs Debian's ${name}`
  }
  return undefined
}

const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms))

/** @param ms how long to ask; @returns what `look` gave, once that is neither false nor undefined */
export async function until(what, ms, look) {
  const endsAt = Date.now() + ms
  for (;;) {
    const found = look()
    if (found !== undefined && found !== false) return found
    if (Date.now() > endsAt) throw new Error(`not within ${ms / 1000} s: ${what}`)
    await pause(250)
  }
}

/** The files of the system as first installed, kept from run to run: a minute of unpacking. */
function base() {
  const folder = join(tmpdir(), `ridgepost-debian-${release}`)
  if (!existsSync(join(folder, 'made'))) {
    rmSync(folder, { recursive: true, force: true })
    mkdirSync(folder)
    const made = spawnSync(
      'debootstrap',
      ['--variant=minbase', `--include=${packages}`, release, join(folder, 'root')],
      { encoding: 'utf8' },
    )
    if (made.status !== 0) throw new Error(`debootstrap: ${made.stdout.slice(-500)}${made.stderr}`)
    mkdirSync(join(folder, 'made'))
  }
  return join(folder, 'root')
}

export async function bootDebian() {
  const folder = join(tmpdir(), `ridgepost-debian-${process.pid}`)
  const root = join(folder, 'root')
  mkdirSync(folder, { recursive: true })
  execFileSync('cp', ['-a', '--reflink=auto', base(), root])
  // nspawn asks the host's bus for a place for the machine
  if (!existsSync('/run/dbus/system_bus_socket') && existsSync('/usr/bin/dbus-daemon')) {
    mkdirSync('/run/dbus', { recursive: true })
    spawnSync('dbus-daemon', ['--system', '--fork'])
  }
  const name = `ridgepost-${process.pid}`
  const container = spawn(
    'systemd-nspawn',
    ['-D', root, '-M', name, '--boot', '--register=no', '--keep-unit', '--console=pipe'],
    { stdio: ['ignore', 'pipe', 'pipe'] },
  )
  let console = ''
  for (const stream of [container.stdout, container.stderr])
    stream.on('data', (text) => {
      console = (console + text).slice(-8000)
    })
  /** the container's own process 1, as seen from here */
  const leader = () => {
    try {
      const [child] = readFileSync(
        `/proc/${container.pid}/task/${container.pid}/children`,
        'utf8',
      ).split(' ')
      return child === undefined || child === '' ? undefined : Number(child)
    } catch {
      throw new Error(`the container ended: ${console.slice(-1000)}`)
    }
  }
  const environment = ['-i', 'PATH=/usr/sbin:/usr/bin:/sbin:/bin', 'LANG=C.UTF-8']
  const inside = (words) => {
    const entering = ['-t', String(leader()), '-a', '--', '/usr/bin/env', ...environment]
    return [...entering, ...words]
  }
  /** Runs a command inside; no shell is between. */
  const run = (...words) =>
    spawnSync('nsenter', inside(words), { encoding: 'utf8', maxBuffer: 64e6 })
  /** Begins a command inside, and leaves it to the caller. */
  const start = (...words) => spawn('nsenter', inside(words), { stdio: 'pipe' })
  const close = async () => {
    const gone = new Promise((resolve) => container.once('exit', resolve))
    container.kill('SIGTERM')
    const timer = setTimeout(() => container.kill('SIGKILL'), 20_000)
    if (container.exitCode === null && container.signalCode === null) await gone
    clearTimeout(timer)
    rmSync(folder, { recursive: true, force: true })
  }
  try {
    await until('the container to begin', 30_000, leader)
    // "degraded" is a unit of Debian's own that a container lacks something for
    await until('Debian to have started', 90_000, () =>
      /running|degraded/.test(run('systemctl', 'is-system-running').stdout),
    )
  } catch (error) {
    await close()
    throw error
  }
  return {
    root,
    run,
    start,
    close,
    /** the same, which must succeed; @returns its output */
    must(...words) {
      const { status, stdout, stderr } = run(...words)
      if (status !== 0) throw new Error(`${words.join(' ')}: status ${status}: ${stdout}${stderr}`)
      return stdout
    },
    copyIn: (from, to) => cpSync(from, join(root, to)),
    /** every path that a package could have left */
    paths() {
      const found = []
      const walk = (inside) => {
        for (const entry of readdirSync(join(root, inside), { withFileTypes: true })) {
          const path = `${inside}/${entry.name}`
          if (
            /^\/(proc|sys|dev|run|tmp|var\/(lib\/(apt|dpkg|systemd)|log|cache|tmp))(\/|$)/.test(
              path,
            )
          )
            continue
          found.push(path)
          if (entry.isDirectory()) walk(path)
        }
      }
      walk('')
      return found
    },
  }
}

// Makes a fresh clone ready with one command: installs the packages of package-lock.json when they are missing or
// others, and bundles the program when a source is newer than the bundle. Quick when there is nothing to do. `--build` only
// bundles.
// Plain JavaScript on Node's own modules, because it runs before anything is installed.
import { spawnSync } from 'node:child_process'
import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const buildStampFile = join(root, 'dist', '.built')
const windows = process.platform === 'win32'

const readJson = (...names) => JSON.parse(readFileSync(join(root, ...names), 'utf8'))

function refuseOldNode() {
  const wanted = /\d+/.exec(readJson('package.json').engines.node)[0]
  if (Number(process.versions.node.split('.')[0]) >= Number(wanted)) return
  console.error(
    `Node ${process.versions.node} is too old: Ridgepost needs Node ${wanted} or later. Install Debian's package nodejs (Debian 13 or later), or the Node of nodejs.org, and run this again.`,
  )
  process.exit(1)
}

function run(command, commandArguments) {
  const result = spawnSync(command, commandArguments, {
    cwd: root,
    stdio: ['ignore', 2, 2],
    shell: windows,
  })
  if (result.error) throw result.error
  if (result.status !== 0) process.exit(result.status === null ? 1 : result.status)
}

/** npm notes what it has installed, whoever called it. Optional packages may be missing: they are for other machines. */
function isInstalled() {
  if (!existsSync(join(root, 'node_modules', '.package-lock.json'))) return false
  const there = readJson('node_modules', '.package-lock.json').packages
  return Object.entries(readJson('package-lock.json').packages).every(([place, wanted]) => {
    if (place === '') return true
    const found = there[place]
    return found === undefined ? wanted.optional === true : found.version === wanted.version
  })
}

const newestSource = (folder) =>
  readdirSync(folder, { withFileTypes: true }).reduce((newest, entry) => {
    const path = join(folder, entry.name)
    if (entry.isDirectory()) return Math.max(newest, newestSource(path))
    return entry.name.endsWith('.md') ? newest : Math.max(newest, statSync(path).mtimeMs)
  }, 0)

function isBuilt() {
  if (!existsSync(buildStampFile)) return false
  const changedAt = Math.max(
    newestSource(join(root, 'src')),
    newestSource(join(root, 'dsp')),
    statSync(join(root, 'tsconfig.json')).mtimeMs,
  )
  return changedAt < statSync(buildStampFile).mtimeMs
}

async function build() {
  if (!existsSync(join(root, 'node_modules', 'esbuild'))) {
    if (isBuilt()) return
    console.error('There is no build, and no esbuild to make one: run npm ci without --omit=dev.')
    process.exit(1)
  }
  const { bundle } = await import('./packaging/bundle.mjs')
  await bundle()
  writeFileSync(buildStampFile, '')
}

refuseOldNode()
if (process.argv.includes('--build')) await build()
else {
  if (!isInstalled()) {
    console.error('Installing packages (once; less than a minute) ...')
    // npm builds as well when it has installed
    run('npm', ['ci', '--no-audit', '--no-fund', '--ignore-scripts=false', '--loglevel=error'])
  }
  if (!isBuilt()) await build()
}

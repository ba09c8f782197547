// Makes a fresh clone ready with one command: installs the packages of package-lock.json when they are
// missing or stale, and compiles when a source is newer than the build. Quick when there is nothing to do.
// Plain JavaScript on Node's own modules, because it runs before anything is installed.
import { spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const stampFile = join(root, 'node_modules', '.ridgepost-installed')
const buildStampFile = join(root, 'dist', '.built')
const windows = process.platform === 'win32'

const run = (command, commandArguments) => {
  const result = spawnSync(command, commandArguments, {
    cwd: root,
    stdio: ['ignore', 2, 2],
    shell: windows,
  })
  if (result.error) throw result.error
  if (result.status !== 0) process.exit(result.status ?? 1)
}

const lockHash = createHash('sha256')
  .update(readFileSync(join(root, 'package-lock.json')))
  .update(process.version)
  .digest('hex')
const installed = existsSync(stampFile) && readFileSync(stampFile, 'utf8') === lockHash
if (!installed) {
  console.error('Installing packages (once; a minute or two) ...')
  run('npm', ['ci', '--no-audit', '--no-fund', '--ignore-scripts=false', '--loglevel=error'])
  writeFileSync(stampFile, lockHash)
}

const newestSource = (folder) =>
  readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && !entry.name.endsWith('.md'))
    .reduce(
      (newest, entry) =>
        Math.max(newest, statSync(join(entry.parentPath ?? entry.path, entry.name)).mtimeMs),
      0,
    )

const builtAt = existsSync(buildStampFile) ? statSync(buildStampFile).mtimeMs : 0
const changedAt = Math.max(
  newestSource(join(root, 'src')),
  newestSource(join(root, 'dsp')),
  statSync(join(root, 'tsconfig.json')).mtimeMs,
)
if (changedAt >= builtAt) {
  console.error('Compiling ...')
  run(process.execPath, [
    join(root, 'node_modules', 'typescript', 'bin', 'tsc'),
    '-p',
    join(root, 'tsconfig.json'),
  ])
  writeFileSync(buildStampFile, '')
}

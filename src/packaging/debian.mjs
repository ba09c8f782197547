// Makes a Debian package of the bundled program: npm run package:deb [-- --arch amd64|arm64]. It needs dpkg-deb, which
// Debian and its relatives have; the package depends on Debian's own nodejs.
import { execFileSync } from 'node:child_process'
import {
  chmodSync,
  cpSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import { gzipSync } from 'node:zlib'
import { bundle, nativePackages } from './bundle.mjs'
import { buildPage } from './page.mjs'

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'))

/** Debian's names of the machines that prebuilt modules exist for, and npm's. */
const architectures = { amd64: 'x64', arm64: 'arm64' }

const { values } = parseArgs({
  options: {
    arch: { type: 'string' },
    version: { type: 'string', default: manifest.version },
    output: { type: 'string', default: join(root, 'dist') },
  },
})
const here = Object.keys(architectures).find((name) => architectures[name] === process.arch)
const arch = values.arch ?? here
if (arch === undefined || !(arch in architectures)) {
  console.error(
    `package:deb: got --arch ${arch ?? process.arch}, expected ${Object.keys(architectures).join(' or ')}: ` +
      'for others no prebuilt database module exists; run it from a clone there',
  )
  process.exit(2)
}

const stage = join(root, 'dist', 'deb')
const at = (...parts) => join(stage, ...parts)
const program = ['usr', 'lib', 'ridgepost']

/** @param from below the project's root */
const put = (from, to, mode = 0o644) => {
  mkdirSync(dirname(to), { recursive: true })
  cpSync(join(root, from), to, { recursive: true })
  if (statSync(to).isFile()) chmodSync(to, mode)
}
const write = (text, to, mode = 0o644) => {
  mkdirSync(dirname(to), { recursive: true })
  writeFileSync(to, text)
  chmodSync(to, mode)
}
/** A text of ours with a place in it changed; the place must be there. */
const changed = (file, changes) => {
  let text = readFileSync(join(root, file), 'utf8')
  for (const [from, to] of changes) {
    if (!text.includes(from)) throw new Error(`${file}: "${from}" is not in it`)
    text = text.replaceAll(from, to)
  }
  return text
}

/** What a package holds besides what runs: types, build files, sources in C++. */
const unneeded = /^\/(deps|tests?|build)(\/|$)|\.(ts|map|md|gyp|cc|cpp|h|mm)$/

/** The packages with machine code and what these need, without what other machines need. */
function putNativePackages() {
  const wanted = [...nativePackages]
  const seen = new Set()
  for (let name = wanted.shift(); name !== undefined; name = wanted.shift()) {
    const from = join('node_modules', name)
    if (seen.has(name) || !existsSync(join(root, from))) continue
    seen.add(name)
    const to = at(...program, from)
    cpSync(join(root, from), to, {
      recursive: true,
      filter: (source) => !unneeded.test(source.slice(join(root, from).length)),
    })
    const prebuilds = join(to, 'prebuilds')
    if (existsSync(prebuilds)) {
      const ours = new RegExp(`^linux-${architectures[arch]}$`)
      for (const folder of readdirSync(prebuilds))
        if (!ours.test(folder)) rmSync(join(prebuilds, folder), { recursive: true })
      if (readdirSync(prebuilds).length === 0)
        throw new Error(`${name} has no prebuilt module for linux-${architectures[arch]}`)
    }
    const { dependencies = {} } = JSON.parse(readFileSync(join(root, from, 'package.json'), 'utf8'))
    wanted.push(...Object.keys(dependencies).filter((one) => one !== 'node-addon-api'))
  }
}

await bundle()
await buildPage()
rmSync(stage, { recursive: true, force: true })

put('dist/bundle', at(...program, 'dist', 'bundle'))
put('dist/page', at(...program, 'dist', 'page'))
write(
  `${JSON.stringify({ name: manifest.name, version: values.version, type: 'module' }, null, 2)}\n`,
  at(...program, 'package.json'),
)
putNativePackages()
chmodSync(at(...program, 'dist', 'bundle', 'ridgepost.js'), 0o755)
mkdirSync(at('usr', 'bin'), { recursive: true })
symlinkSync('../lib/ridgepost/dist/bundle/ridgepost.js', at('usr', 'bin', 'ridgepost'))

for (const folder of ['demo', 'event', 'hilltop', 'services'])
  put(join('samples', folder), at(...program, 'samples', folder))
for (const name of ['node.toml', 'node.schema.json', 'language.toml'])
  put(`samples/${name}`, at('usr', 'share', 'doc', 'ridgepost', 'examples', name))
put('README.md', at('usr', 'share', 'doc', 'ridgepost', 'README.md'))
write(
  `${readFileSync(join(root, 'LICENSE'), 'utf8')}\n${readFileSync(join(root, 'dist/bundle/LICENSES.txt'), 'utf8')}`,
  at('usr', 'share', 'doc', 'ridgepost', 'copyright'),
)
const changelog = at('usr', 'share', 'doc', 'ridgepost', 'changelog.gz')
writeFileSync(changelog, gzipSync(readFileSync(join(root, 'CHANGELOG.md')), { level: 9 }))
chmodSync(changelog, 0o644)

const lib = ['usr', 'lib']
write(
  changed('systemd/ridgepost.service', [
    [
      '/usr/bin/env node /opt/ridgepost/dist/bundle/ridgepost.js run ',
      '/usr/bin/ridgepost run --hold-file /var/lib/ridgepost/hold ',
    ],
    ['file:///opt/ridgepost/README.md', 'file:///usr/share/doc/ridgepost/README.md'],
    [
      '# Install: see systemd/README.md. This unit is for a copy of the program in /opt/ridgepost.\n',
      '',
    ],
    [
      'StartLimitIntervalSec=0\n',
      'StartLimitIntervalSec=0\n# Without a configuration there is nothing to run.\nConditionPathExists=/etc/ridgepost/node.toml\n',
    ],
  ]),
  at(...lib, 'systemd', 'system', 'ridgepost.service'),
)
put('systemd/sysusers.conf', at(...lib, 'sysusers.d', 'ridgepost.conf'))
put('systemd/tmpfiles.conf', at(...lib, 'tmpfiles.d', 'ridgepost.conf'))
put('systemd/85-ridgepost.rules', at(...lib, 'udev', 'rules.d', '85-ridgepost.rules'))
put(
  'systemd/environment.example',
  at('usr', 'share', 'doc', 'ridgepost', 'examples', 'environment'),
)

for (const script of ['postinst', 'prerm', 'postrm'])
  put(join('systemd', 'debian', script), at('DEBIAN', script), 0o755)
const kilobytes = Number(
  execFileSync('du', ['-sk', at('usr')], { encoding: 'utf8' }).split('\t')[0],
)
write(
  `Package: ridgepost
Version: ${values.version}
Architecture: ${arch}
Section: hamradio
Priority: optional
Maintainer: the Ridgepost project <ridgepost@localhost>
Installed-Size: ${kilobytes}
Depends: nodejs (>= 20), systemd, passwd
Recommends: alsa-utils
Suggests: gpiod, socat
Description: packet-radio service node that stands alone
 Hears 1200 baud AFSK (AX.25, APRS format), answers questions that people send by
 radio out of its own data, and keys the transmitter within the limits that its
 licensee set. It needs no internet. Sending is off until it is turned on.
`,
  at('DEBIAN', 'control'),
)

const file = join(values.output, `ridgepost_${values.version}_${arch}.deb`)
execFileSync('dpkg-deb', ['--root-owner-group', '--build', stage, file], {
  stdio: ['ignore', 2, 2],
})
console.log(file)

// Loaded in front of the program: writes what it has loaded, and what its heap holds after a collection, to the file that
// PARTS_PROBE names: at SIGUSR2, and at the end.
const { writeFileSync } = require('node:fs')
const { Session } = require('node:inspector')

/** Every script that was loaded, as a URL or path. */
function scripts() {
  const found = []
  const session = new Session()
  session.connect()
  session.on('Debugger.scriptParsed', ({ params }) => found.push(params.url))
  session.post('Debugger.enable')
  session.disconnect()
  return found.filter((url) => url !== '' && !url.startsWith('node:'))
}

function tell() {
  globalThis.gc?.()
  const heapMb = process.memoryUsage().heapUsed / 1e6
  writeFileSync(process.env.PARTS_PROBE, JSON.stringify({ heapMb, scripts: scripts() }))
}

process.on('SIGUSR2', tell)
process.on('exit', tell)

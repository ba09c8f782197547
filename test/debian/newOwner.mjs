// A new owner at a fresh Debian: `ridgepost setup` at a terminal, with files that stand for a radio, until the first question
// that was asked by radio is answered by radio. Typed are answers to `setup`, and nothing else.
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { until } from './bootedDebian.mjs'

const folder = '/var/lib/ridgepost'
const radio = {
  input: `${folder}/receiver.fifo`,
  output: `${folder}/transmitter.wav`,
  // A raw HID device takes reports of five octets by writing, as a file does.
  keyLine: `${folder}/hidraw-of-a-file`,
}
const call = 'Q7RDG-10'

/** What is typed at each question, by words of it; '' takes the default. */
const typed = [
  [/^Your call sign/, call],
  [/^Who answers/, 'Q7RDG'],
  [/^Latitude/, 'HN15pf'],
  [/^Time zone/, ''],
  [/^A number \[1\]/, ''],
  [/^Input/, `fifo:${radio.input}`],
  [/^Listen now/, 'yes'],
  [/^Listen again/, ''],
  [/^A number \[7\]/, '4'],
  [/^Its device/, `${radio.keyLine} 3`],
  [/^Output/, `wav:${radio.output}`],
  [/^Frequency/, '145.01'],
  [/^Transmitter's output/, '5'],
  [/^Gain/, ''],
  [/^Height/, '9'],
  [/^Its length/, ''],
  [/^May this station send/, 'yes'],
  [/^Type "yes" to key it now/, 'yes'],
  [/^Did the radio transmit/, 'yes'],
  [/^Type "yes" to send the flags/, ''],
  [/^Path/, 'skip'],
  [/^CSV directory/, ''],
  [/^CSV list of places/, ''],
  [/^Element sets/, ''],
  [/^Folder of cards/, ''],
  [/^"write" writes/, 'write'],
]

/** Plays a receiver at its own pace: a packet of somebody again and again, and once what lies in /root/question.raw. */
const receiver = `
const fs = require('node:fs')
const pieceOctets = 2 * 2400
const packet = Buffer.concat([fs.readFileSync('/root/packet.raw').subarray(44), Buffer.alloc(2 * 48000 * 4)])
const out = fs.openSync('${radio.input}', fs.constants.O_RDWR)
let [audio, at] = [packet, 0]
setInterval(() => {
  if (audio === packet && fs.existsSync('/root/question.raw'))
    [audio, at] = [fs.readFileSync('/root/question.raw').subarray(44), 0]
  const piece = Buffer.alloc(pieceOctets)
  audio.copy(piece, 0, at, at + pieceOctets)
  at = Math.min(at + pieceOctets, audio.length)
  if (at === audio.length && audio === packet) at = 0
  fs.writeSync(out, piece)
}, 50)
`

/** Types at a terminal of `script`, each answer only when its question stands there. */
async function typeSetup(debian) {
  const session = debian.start('script', '-qec', 'ridgepost setup', '/dev/null')
  let shown = ''
  let end
  session.stdout.setEncoding('utf8').on('data', (text) => {
    shown += text
  })
  session.once('exit', (code) => {
    end = code
  })
  const fail = (what) => new Error(`${what}:\n${shown.slice(-2500)}`)
  for (const [question, line] of typed) {
    const from = shown.length
    const stands = () => {
      const last = shown.slice(shown.lastIndexOf('\n') + 1)
      if (end !== undefined) throw fail('setup ended')
      return question.test(last) && / $/.test(last)
    }
    try {
      await until(String(question), 90_000, stands)
    } catch (error) {
      throw fail(`${error.message} after ${from} characters`)
    }
    session.stdin.write(`${line}\n`)
    await until('the line to be taken', 10_000, () => shown.length > from)
  }
  await until('the end of setup', 60_000, () => end !== undefined)
  if (end !== 0 || !shown.includes('No errors.')) throw fail(`setup ended with ${end}`)
  if (!/Heard Q1ABC-7/.test(shown)) throw fail('setup heard no packet')
}

/** @returns how long it took, from `startedAt` to the answer on the air, s */
export async function newOwner(debian, startedAt) {
  debian.must('mkfifo', '-m', '660', radio.input)
  debian.must('touch', radio.output, radio.keyLine)
  debian.must('chmod', '660', radio.output, radio.keyLine)
  debian.must('chown', 'ridgepost:ridgepost', radio.input, radio.output, radio.keyLine)
  const encode = (name, frame) =>
    debian.must('ridgepost', 'encode', '--output', `/root/${name}.wav`, '--gap', '1500', frame)
  encode('packet', 'Q1ABC-7>APZ000:>hello from the hut')
  debian.must('mv', '/root/packet.wav', '/root/packet.raw')
  writeFileSync(join(debian.root, 'root/receiver.js'), receiver)
  const playing = debian.start('node', '/root/receiver.js')
  try {
    await typeSetup(debian)
    // Keyed for the trial (OR1 with pin 3 set), and unkeyed last.
    const reports = readFileSync(join(debian.root, radio.keyLine))
    const levels = []
    for (let at = 2; at < reports.length; at += 5) levels.push(reports[at])
    if (!levels.includes(4) || levels.at(-1) !== 0) throw new Error(`key line: ${levels}`)
    debian.must('systemctl', 'start', 'ridgepost')
    const log = () => debian.must('ridgepost', 'log', '--config', '/etc/ridgepost/node.toml')
    await until('the packet in the log', 60_000, () => log().includes('Q1ABC-7'))
    encode('question', `Q1ABC-7>APZ000::${call.padEnd(9)}:sun{1`)
    debian.must('mv', '/root/question.wav', '/root/question.raw')
    await until('an answer on the air', 60_000, () => {
      const heard = debian.run('ridgepost', 'decode', '--format', 'line', radio.output).stdout
      return /:Q1ABC-7 +:.*dawn/.test(heard)
    })
  } finally {
    debian.run('pkill', '-xf', 'node /root/receiver.js')
    playing.kill()
  }
  const tookS = (Date.now() - startedAt) / 1000
  debian.must('systemctl', 'stop', 'ridgepost')
  debian.must(
    'sh',
    '-c',
    `rm -rf ${folder}/* /etc/ridgepost/node.toml /root/*.raw /root/receiver.js`,
  )
  if (tookS > 300) throw new Error(`it took ${tookS.toFixed(0)} s, more than five minutes`)
  return tookS
}

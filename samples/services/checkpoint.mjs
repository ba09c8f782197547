// A checkpoint of a walk or run: who came by, and when, in a CSV file beside this one.
//   checkpoint 12 coldwell   notes that number 12 passed Coldwell
//   checkpoint 12            says where number 12 was seen last
// Try it without a radio:   ridgepost ask "checkpoint 12 coldwell" --config samples/hilltop/node.toml
//
// It shows what a service that keeps something must mind:
// question.id        A question is asked again when the node went down before its answer was kept. Its id is the same
//                    then, and unlike any other's: what has been noted under it is not noted twice.
// context.rehearsal  true in `ask`: answer as usual, but write nothing.
import { appendFileSync, existsSync, readFileSync } from 'node:fs'

const file = new URL('./checkpoint.csv', import.meta.url)
const places = ['Coldwell', 'Saltwick', 'Skerry']

export default {
  keyword: 'checkpoint',
  summary: 'Notes who passes a checkpoint, and says who was seen where',
  usage: 'checkpoint NUMBER [PLACE]',

  answer(question, context) {
    const [number = '', wanted] = question.words
    if (!/^[0-9]{1,4}$/.test(number)) return `Whose number? Send e.g. checkpoint 12 ${places[0]}`
    const rows = readRows()
    if (wanted === undefined) return lastSeen(rows, number, context.node)
    const place = places.find((name) => name.toLowerCase().startsWith(wanted.toLowerCase()))
    if (place === undefined) return `No checkpoint "${wanted}". I know ${places.join(', ')}.`
    const known = rows.find((row) => row.id === question.id)
    const atWallMs = known?.atWallMs ?? context.nowWallMs
    if (known === undefined) {
      rows.push({ id: question.id, atWallMs, number, place })
      if (!context.rehearsal) append([question.id, new Date(atWallMs).toISOString(), number, place])
    }
    const passed = new Set(rows.filter((row) => row.place === place).map((row) => row.number))
    return `${number} noted at ${place} ${clockTime(atWallMs, context.node)}. ${passed.size} passed there.`
  },
}

function lastSeen(rows, number, node) {
  const row = rows.findLast((row) => row.number === number)
  if (row === undefined) return `Number ${number} was seen nowhere yet.`
  return `Number ${number} passed ${row.place} at ${clockTime(row.atWallMs, node)}.`
}

/** Lines that are not ours, such as one that a power cut left half written, are passed over. */
function readRows() {
  if (!existsSync(file)) return []
  return readFileSync(file, 'utf8')
    .split('\n')
    .map((line) => line.split(','))
    .filter((columns) => columns.length === 4 && !Number.isNaN(Date.parse(columns[1])))
    .map(([id, time, number, place]) => ({ id, atWallMs: Date.parse(time), number, place }))
}

function append(columns) {
  const isWhole = !existsSync(file) || readFileSync(file, 'utf8').endsWith('\n')
  appendFileSync(file, `${isWhole ? '' : '\n'}${columns.join(',')}\n`, { flush: true })
}

const clockTime = (wallMs, { utcOffsetMinutes }) =>
  new Date(wallMs + utcOffsetMinutes * 60_000).toISOString().slice(11, 16)

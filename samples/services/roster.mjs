// A duty roster: who watches the net or the hut, and when; who has the next duty is reminded by a message.
//   roster                  who is on duty now, and who comes next
//   roster add sat 18:00    puts you down, for the next Saturday at 18:00 local time (also: add 2026-06-27 18:00)
//   roster drop sat 18:00   takes you off again
// Try it without a radio:   ridgepost ask "roster add sat 18:00" --config samples/hilltop/node.toml
//
// It shows what a service may do besides answering:
// context.data    what it keeps: written before the answer goes out, or not at all
// context.send    a message to another station, within the node's limits
// every           what it does without being asked
// settings        what the operator sets under [services.own.settings.roster], here remindMinutes = 30, and mayAsk = ["CALL"]
const minuteMs = 60_000
const dayMs = 86_400_000
const days = ['sun', 'mon', 'tue', 'wed', 'thu', 'fri', 'sat']

export default {
  keyword: 'roster',
  summary: 'Who is on duty and who is next; add or drop your own duty',
  usage: 'roster [add or drop DAY HH:MM]',
  synonyms: ['duty', 'dienstplan'],
  language: 'en',
  settings: {
    hours: { type: 'number', min: 1, max: 24, default: 2 },
    remindMinutes: { type: 'number', min: 0, max: 1440, default: 30 },
  },

  answer(question, context) {
    const [what = '', day = '', time = ''] = question.words.map((word) => word.toLowerCase())
    if (what !== 'add' && what !== 'drop') return whoIsOn(context)
    const atMs = readTime(day, time, context)
    if (atMs === undefined) return `When? Send e.g. roster ${what} sat 18:00`
    const key = keyOf(atMs)
    const known = context.data.get(key)
    const when = timeWords(atMs, context)
    if (what === 'drop') {
      if (known?.call !== question.from) return `You are not down for ${when}.`
      context.data.delete(key)
      return `You are off the roster for ${when}.`
    }
    if (atMs < context.nowWallMs) return `${when} is over.`
    if (known !== undefined && known.call !== question.from) return `${known.call} has ${when}.`
    context.data.set(key, { call: question.from, reminded: false })
    return `You are down for ${when}. 73`
  },

  every: {
    minutes: 5,
    run(context) {
      const { remindMinutes, hours } = context.settings
      for (const [key, duty] of context.data.list('duty ')) {
        const atMs = Number(key.slice(5))
        if (atMs + hours * 3_600_000 < context.nowWallMs) context.data.delete(key)
        else if (!duty.reminded && atMs - context.nowWallMs <= remindMinutes * minuteMs) {
          context.data.set(key, { ...duty, reminded: true })
          context.send(duty.call, `Your duty begins ${timeWords(atMs, context)}.`)
        }
      }
    },
  },
}

// Fifteen figures, so that the order of letters is the order of time.
const keyOf = (atMs) => `duty ${String(atMs).padStart(15, '0')}`

function whoIsOn(context) {
  const duties = context.data.list('duty ').map(([key, { call }]) => ({
    ...{ call, atMs: Number(key.slice(5)) },
  }))
  const lengthMs = context.settings.hours * 3_600_000
  const now = duties.findLast(
    ({ atMs }) => atMs <= context.nowWallMs && context.nowWallMs < atMs + lengthMs,
  )
  const next = duties.find(({ atMs }) => atMs > context.nowWallMs)
  const nowText = now === undefined ? 'Nobody is on duty' : `${now.call} is on duty`
  const nextText =
    next === undefined
      ? 'nobody is next. Send: roster add sat 18:00'
      : `next is ${next.call}, ${timeWords(next.atMs, context)}.`
  return `${nowText}; ${nextText}`
}

/** The next such moment of local time; undefined for what is none. */
function readTime(day, time, { nowWallMs, node }) {
  const clock = /^([01]?\d|2[0-3])[:.]([0-5]\d)$/.exec(time)
  if (clock === null) return undefined
  const offsetMs = node.utcOffsetMinutes * minuteMs
  const today = Math.floor((nowWallMs + offsetMs) / dayMs) * dayMs
  const inDay = (Number(clock[1]) * 60 + Number(clock[2])) * minuteMs - offsetMs
  if (/^\d{4}-\d\d-\d\d$/.test(day)) {
    const date = Date.parse(`${day}T00:00:00Z`)
    return Number.isNaN(date) ? undefined : date + inDay
  }
  const wanted = days.indexOf(day.slice(0, 3))
  if (wanted < 0) return undefined
  // 1 January 1970 was a Thursday.
  const ahead = (wanted - ((today / dayMs + 4) % 7) + 7) % 7
  const atMs = today + ahead * dayMs + inDay
  return atMs < nowWallMs ? atMs + 7 * dayMs : atMs
}

function timeWords(atMs, { node }) {
  const local = new Date(atMs + node.utcOffsetMinutes * minuteMs)
  const day = days[local.getUTCDay()]
  return `${day[0].toUpperCase()}${day.slice(1)} ${local.toISOString().slice(11, 16)}`
}

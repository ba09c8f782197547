// Battery and solar report of the hut: what the charge controller wrote into a file, and a warning when it gets low.
//   power            battery, sun and load, and how old that is
//   power day        lowest and highest voltage of the last 24 hours
// Try it without a radio:   ridgepost ask "power" --config samples/hilltop/node.toml
//
// The file is one object in JSON, such as {"batteryV":12.6,"solarW":45,"loadW":8,"time":"2026-06-21T12:00:00Z"}; any program
// may write it. While that has nothing, or nothing new, the node does not offer the service (ready). What is measured, and what is low, the operator sets under [services.own.settings.power].
import { readFileSync } from 'node:fs'

const minuteMs = 60_000
const dayMs = 86_400_000

export default {
  keyword: 'power',
  summary: 'Battery and solar power of the hut; day: least and most of 24 h',
  usage: 'power [day]',
  synonyms: ['battery', 'solar', 'strom', 'batterie', 'bateria', 'batteria'],
  language: 'en',
  settings: {
    file: { type: 'text', default: '' },
    staleHours: { type: 'number', min: 1, max: 168, default: 12 },
    lowV: { type: 'number', min: 5, max: 60, default: 11.8 },
    warn: { type: 'texts', default: [] },
  },

  ready(now) {
    const measured = read(now)
    if (measured === undefined) return { state: 'empty', reason: 'the meter has written nothing' }
    const ageMs = now.nowWallMs - measured.atWallMs
    return ageMs > now.settings.staleHours * 60 * minuteMs
      ? { state: 'stale', reason: `last measured ${ageText(ageMs)}` }
      : { state: 'ready' }
  },

  answer(question, context) {
    const now = read(context)
    if (question.words[0]?.toLowerCase() === 'day') return dayText(context)
    if (now === undefined) return 'Nothing was measured. The operator sets the file of the meter.'
    return `${nowText(now)}, ${ageText(context.nowWallMs - now.atWallMs)}`
  },

  every: {
    minutes: 10,
    run(context) {
      const now = read(context)
      if (now === undefined || context.nowWallMs - now.atWallMs > 60 * minuteMs) return
      const { data, settings } = context
      for (const [key] of data.list('v '))
        if (context.nowWallMs - Number(key.slice(2)) > dayMs) data.delete(key)
      data.set(`v ${String(now.atWallMs).padStart(15, '0')}`, now.batteryV)
      const isLow = now.batteryV < settings.lowV
      // Told once, and again only after it had recovered by a tenth of a volt.
      if (isLow && data.get('low') !== true) {
        data.set('low', true)
        for (const call of settings.warn.slice(0, 5))
          context.send(call, `Battery of the hut is low: ${now.batteryV.toFixed(1)} V.`)
      } else if (now.batteryV > settings.lowV + 0.1) data.delete('low')
    },
  },
}

function read({ settings, nowWallMs }) {
  // Beside this file, so that it is found from wherever the node is started.
  const file = new URL(settings.file === '' ? 'power.json' : settings.file, import.meta.url)
  try {
    const { batteryV, solarW, loadW, time } = JSON.parse(readFileSync(file, 'utf8'))
    if (!(batteryV > 0 && batteryV < 100)) return undefined
    const atWallMs = time === undefined ? nowWallMs : Date.parse(time)
    return Number.isNaN(atWallMs) ? undefined : { batteryV, solarW, loadW, atWallMs }
  } catch {
    return undefined
  }
}

function nowText({ batteryV, solarW, loadW }) {
  const parts = [`Battery ${batteryV.toFixed(1)} V`]
  if (Number.isFinite(solarW)) parts.push(`sun ${Math.round(solarW)} W`)
  if (Number.isFinite(loadW)) parts.push(`load ${Math.round(loadW)} W`)
  return parts.join(', ')
}

function ageText(ageMs) {
  const minutes = Math.max(0, Math.round(ageMs / minuteMs))
  if (minutes < 2) return 'just now'
  return minutes < 120 ? `${minutes} min ago` : `${Math.round(minutes / 60)} h ago`
}

function dayText({ data }) {
  const volts = data.list('v ').map(([, value]) => value)
  if (volts.length === 0) return 'Nothing was kept of the last 24 h yet.'
  const [least, most] = [Math.min(...volts), Math.max(...volts)]
  return `Battery in 24 h: least ${least.toFixed(1)} V, most ${most.toFixed(1)} V.`
}

import { expect, it } from 'vitest'
import { readDueTime } from '../../../src/services/asking/dueTime.js'

const at = (hour: number, minute = 0) => ({ kind: 'clock', minuteOfDay: hour * 60 + minute })
const span = (minutes: number) => ({ kind: 'span', spanMs: minutes * 60_000 })

it.each([
  ['18:00 Q1ABC', at(18)],
  ['1830', at(18, 30)],
  ['18.05', at(18, 5)],
  ['at 18:00', at(18)],
  ['18 Uhr', at(18)],
  ['um 18 uhr', at(18)],
  ['18h', at(18)],
  ['18h30', at(18, 30)],
  ['à 18h', at(18)],
  ['a las 19', at(19)],
  ['alle 17.45', at(17, 45)],
  ['6pm', at(18)],
  ['12am', at(0)],
  ['24:00', at(0)],
  ['3h', span(180)],
  ['in 3h Q1ABC', span(180)],
  ['+2h30', span(150)],
  ['90min', span(90)],
  ['90 minutes', span(90)],
  ['2 hours', span(120)],
  ['2 Stunden', span(120)],
  ['25:00', undefined],
  ['18:75', undefined],
  ['Q1ABC 18:00', undefined],
  ['3H2AB', undefined],
  ['2E0ABC', undefined],
  ['soon', undefined],
  ['', undefined],
])('%s', (text, due) => {
  expect(readDueTime(text)).toEqual(due)
})

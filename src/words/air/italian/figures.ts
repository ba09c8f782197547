import type { figures as english } from '../english/figures.js'
import type { Translated } from '../texts.js'

export const figures: Translated<typeof english> = {
  // How the language writes figures: months from January, days of the week from Sunday, compass points from north, eastward.
  decimalSign: ',',
  months: 'gen,feb,mar,apr,mag,giu,lug,ago,set,ott,nov,dic',
  weekdays: 'dom,lun,mar,mer,gio,ven,sab',
  compass: 'N,NNE,NE,ENE,E,ESE,SE,SSE,S,SSO,SO,OSO,O,ONO,NO,NNO',
  dayAndMonth: '{day} {month}',
  date: '{day2}/{month2}/{year}',
  // Ages and spans
  now: 'ora',
  minutes: '{count}min',
  hours: '{count}h',
  days: '{count}g',
  ago: '{age} fa',
  justNow: 'adesso',
  oneHour: '1 ora',
  manyHours: '{count} ore',
  oneDay: '1 giorno',
  manyDays: '{count} giorni',
  // Places
  ofYou: 'da te',
  ofYouAgo: 'da te {ago}',
  besideYou: 'vicino a te',
  besideYouAgo: 'vicino a te {ago}',
  fromYou: 'da dove sei',
  fromYouAgo: "da dov'eri {ago}",
  atYou: 'da te',
  atYourPlace: 'da te',
  ofNode: 'dal nodo',
  fromNode: 'dal nodo',
  atNode: 'al nodo',
  atTheNode: 'al nodo',
  ofPlace: 'da {place}',
  fromPlace: 'da {place}',
  atPlace: 'a {place}',
  whereAreYou: 'Dove sei? Invia posizione o aggiungi il locator: {example}',
  sendPosition: 'La tua posizione non e nota qui: inviala.',
  whereUnknown: 'Qui non si sa dove sia {call}.',
}

import type { figures as english } from '../english/figures.js'
import type { Translated } from '../texts.js'

export const figures: Translated<typeof english> = {
  // How the language writes figures: months from January, days of the week from Sunday, compass points from north, eastward.
  decimalSign: ',',
  months: 'ene,feb,mar,abr,may,jun,jul,ago,sep,oct,nov,dic',
  weekdays: 'dom,lun,mar,mie,jue,vie,sab',
  compass: 'N,NNE,NE,ENE,E,ESE,SE,SSE,S,SSO,SO,OSO,O,ONO,NO,NNO',
  dayAndMonth: '{day} {month}',
  date: '{day2}/{month2}/{year}',
  // Ages and spans
  now: 'ahora',
  minutes: '{count}min',
  hours: '{count}h',
  days: '{count}d',
  ago: 'hace {age}',
  justNow: 'ahora mismo',
  oneHour: '1 hora',
  manyHours: '{count} horas',
  oneDay: '1 dia',
  manyDays: '{count} dias',
  // Places
  ofYou: 'de ti',
  ofYouAgo: 'de ti {ago}',
  besideYou: 'junto a ti',
  besideYouAgo: 'junto a ti {ago}',
  fromYou: 'desde ahi',
  fromYouAgo: 'desde ahi {ago}',
  atYou: 'ahi',
  atYourPlace: 'donde estas',
  ofNode: 'del nodo',
  fromNode: 'desde el nodo',
  atNode: 'en el nodo',
  atTheNode: 'en el nodo',
  ofPlace: 'de {place}',
  fromPlace: 'desde {place}',
  atPlace: 'en {place}',
  whereAreYou: 'Donde estas? Envia posicion, o locator: {example}',
  sendPosition: 'Tu posicion no se conoce aqui: envia una.',
  whereUnknown: 'Aqui no se sabe donde esta {call}.',
}

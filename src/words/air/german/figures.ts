import type { figures as english } from '../english/figures.js'
import type { Translated } from '../texts.js'

export const figures: Translated<typeof english> = {
  // How the language writes figures: months from January, days of the week from Sunday, compass points from north, eastward.
  decimalSign: ',',
  months: '1.,2.,3.,4.,5.,6.,7.,8.,9.,10.,11.,12.',
  weekdays: 'So,Mo,Di,Mi,Do,Fr,Sa',
  compass: 'N,NNO,NO,ONO,O,OSO,SO,SSO,S,SSW,SW,WSW,W,WNW,NW,NNW',
  dayAndMonth: '{day}.{month}',
  date: '{day2}.{month2}.{year}',
  // Ages and spans
  now: 'jetzt',
  minutes: '{count}min',
  hours: '{count}h',
  days: '{count}d',
  ago: 'vor {age}',
  justNow: 'gerade eben',
  oneHour: '1 Stunde',
  manyHours: '{count} Stunden',
  oneDay: '1 Tag',
  manyDays: '{count} Tage',
  // Places
  ofYou: 'von dir',
  ofYouAgo: 'von dir {ago}',
  besideYou: 'bei dir',
  besideYouAgo: 'bei dir {ago}',
  fromYou: 'von dir aus',
  fromYouAgo: 'von dir aus ({ago})',
  atYou: 'bei dir',
  atYourPlace: 'bei dir',
  ofNode: 'vom Knoten',
  fromNode: 'vom Knoten aus',
  atNode: 'beim Knoten',
  atTheNode: 'beim Knoten',
  ofPlace: 'von {place}',
  fromPlace: 'von {place} aus',
  atPlace: 'bei {place}',
  whereAreYou: 'Wo bist du? Sende Position oder gib Locator an: {example}',
  sendPosition: 'Deine Position ist hier nicht bekannt: sende eine.',
  whereUnknown: 'Wo {call} ist, ist hier nicht bekannt.',
}

import type { figures as english } from '../english/figures.js'
import type { Translated } from '../texts.js'

export const figures: Translated<typeof english> = {
  // How the language writes figures: months from January, days of the week from Sunday, compass points from north, eastward.
  decimalSign: ',',
  months: 'jan,fev,mars,avr,mai,juin,juil,aout,sept,oct,nov,dec',
  weekdays: 'dim,lun,mar,mer,jeu,ven,sam',
  compass: 'N,NNE,NE,ENE,E,ESE,SE,SSE,S,SSO,SO,OSO,O,ONO,NO,NNO',
  dayAndMonth: '{day} {month}',
  date: '{day2}/{month2}/{year}',
  // Ages and spans
  now: 'maintenant',
  minutes: '{count}min',
  hours: '{count}h',
  days: '{count}j',
  ago: 'il y a {age}',
  justNow: "a l'instant",
  oneHour: '1 heure',
  manyHours: '{count} heures',
  oneDay: '1 jour',
  manyDays: '{count} jours',
  // Places
  ofYou: 'de vous',
  ofYouAgo: 'de vous {ago}',
  besideYou: 'pres de vous',
  besideYouAgo: 'pres de vous {ago}',
  fromYou: 'de chez vous',
  fromYouAgo: 'de chez vous {ago}',
  atYou: 'chez vous',
  atYourPlace: 'chez vous',
  ofNode: 'du noeud',
  fromNode: 'du noeud',
  atNode: 'au noeud',
  atTheNode: 'au noeud',
  ofPlace: 'de {place}',
  fromPlace: 'de {place}',
  atPlace: 'a {place}',
  whereAreYou: 'Ou etes-vous? Envoyez position ou locator: {example}',
  sendPosition: "Votre position n'est pas connue ici: envoyez-la.",
  whereUnknown: 'On ne sait pas ici ou est {call}.',
}

import type { watches as english } from '../english/watches.js'
import type { Translated } from '../texts.js'

export const watches: Translated<typeof english> = {
  usageBack: 'back HORA CALL (o: back off)',
  usageTell: 'tell CALL',
  summaryBack: 'Vigilancia: se avisa a CALL si no se te oye hasta entonces',
  summaryTell: 'Se te avisa una vez cuando se oiga a CALL',
  backHow: 'Envia p.ej. back 18:00 N0CALL-7, o back 3h N0CALL-7',
  backSet: 'Vuelta a {time} (en {span}). Emite desde {from}, o: back off',
  backElse: 'Si no, aviso a: {who}. No sustituye otra alarma',
  backNone: 'No hay vigilancia tuya.',
  backStands: 'Vuelta a {time}, quedan {span}. Si no, aviso a: {who}',
  backOff: 'Tu vigilancia esta anulada.',
  backNoClock: 'El reloj de aqui no es seguro: envia horas: back 3h {call}',
  backSoon: 'Envia una hora de 10 minutos a 24 horas despues.',
  backNobody: 'Di a quien avisar: back 18:00 CALL',
  backFull: 'No puesta: demasiadas aqui. Avisa tu a alguien.',
  theOperator: 'operador',
  andOperator: '{call} y operador',
  overdue: '{call} se retrasa: vuelta a {time}, oido {ago}.',
  overdueYou: 'Te retrasas. Avisados: {who}. Todo bien? Dilo',
  tellWho: 'De quien? Envia p.ej. tell N0CALL-7',
  tellNoCall: '"{word}" no es un indicativo. Envia tell CALL',
  tellSet: 'Se te avisa una vez cuando se oiga a {call}, durante {kept}.',
  tellFull: 'No puesto: ya hay {count} tuyos.',
  isHeard: 'Ahora se oye a {call}.',
  notHeardIn: 'No se oyo a {call} en {kept}. Para seguir: tell {call}',
}

import type { operating as english } from '../english/operating.js'
import type { Translated } from '../texts.js'

export const operating: Translated<typeof english> = {
  // Control by radio, in its own words of state
  controlNoCode: 'Invia {usual} CODE, con il prossimo codice della lista.',
  controlNot: 'Non fatto: {reason}.',
  controlNoEvent: 'nessun evento configurato',
  controlHeld: '{name} adesso e {call}.',
  controlNobody: 'nessuno',
  controlReleased: 'Liberata.',
  controlReleasedLost: 'Liberata, ma un riavvio la ferma di nuovo: disco guasto.',
  controlHolding: 'Ferma {until}, fra pochi secondi.',
  controlHoldingLost: 'Ferma {until}, un riavvio lo dimentica.',
  controlUntilReleased: 'fino al rilascio',
  controlFor: 'per {span}',
  controlSend: 'Invia {usage}',
  controlShown: '(solo mostrato: qui nessun codice viene provato)',
  stateDuty: 'trasmissione {percent}%',
  stateWaiting: '{count} in attesa',
  stateDeaf: 'senza ricezione',
  codeNotEnrolled: 'questo nominativo non e iscritto',
  codeTries: 'troppi codici sbagliati: solo hold',
  codeDisk: 'il disco non prende il contatore',
  codeWrong: 'il codice e sbagliato o gia usato',
  nameBad: '"{word}" non puo essere un nome',
  nameNoCall: '"{word}" non e un nominativo',
  nameMany: 'ci sono gia {count} nomi',
  nameDisk: 'il disco non lo prende',
  // Alerts, calls for help
  alertIs: 'Allarme {name}: {what}',
  alertOver: 'Fine allarme: {name}',
  alertExercise: 'esercitazione: {what}',
  alertDisk: '{count} MB liberi, limite {limit}',
  alertBeyond: '{name} {count}, limite {limit}',
  alertHeard: 'si sente {call}',
  alertSilent: '{call} non sentito da {count}h',
  emergencyReply: 'Ricevuto. Stazione senza operatore: chiedi aiuto anche a voce.',
}

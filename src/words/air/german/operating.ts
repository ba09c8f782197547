import type { operating as english } from '../english/operating.js'
import type { Translated } from '../texts.js'

export const operating: Translated<typeof english> = {
  // Control by radio, in its own words of state
  controlNoCode: 'Sende {usual} CODE, mit dem naechsten Code deiner Liste.',
  controlNot: 'Nicht getan: {reason}.',
  controlNoEvent: 'keine Veranstaltung eingerichtet',
  controlHeld: '{name} ist jetzt {call}.',
  controlNobody: 'niemand',
  controlReleased: 'Freigegeben.',
  controlReleasedLost: 'Frei, aber ein Neustart sperrt wieder: Platte gestoert.',
  controlHolding: 'Gesperrt {until}, in ein paar Sekunden.',
  controlHoldingLost: 'Gesperrt {until}, ein Neustart vergisst es.',
  controlUntilReleased: 'bis zur Freigabe',
  controlFor: 'fuer {span}',
  controlSend: 'Sende {usage}',
  controlShown: '(nur gezeigt: ein Code wird hier nicht versucht)',
  stateDuty: 'Sendezeit {percent}%',
  stateWaiting: '{count} warten',
  stateDeaf: 'kein Empfang',
  codeNotEnrolled: 'dieses Rufzeichen ist nicht eingetragen',
  codeTries: 'zu viele falsche Codes: vorerst nur hold',
  codeDisk: 'die Platte nimmt den Zaehler nicht an',
  codeWrong: 'der Code ist falsch oder schon benutzt',
  nameBad: '"{word}" kann kein Name sein',
  nameNoCall: '"{word}" ist kein Rufzeichen',
  nameMany: 'es gibt schon {count} Namen',
  nameDisk: 'die Platte nimmt es nicht an',
  // Alerts, calls for help
  alertIs: 'Alarm {name}: {what}',
  alertOver: 'Alarm vorbei: {name}',
  alertExercise: 'Uebung: {what}',
  alertDisk: '{count} MB frei, Grenze {limit}',
  alertBeyond: '{name} {count}, Grenze {limit}',
  alertHeard: '{call} ist zu hoeren',
  alertSilent: '{call} seit {count}h nicht gehoert',
  emergencyReply: 'Gehoert. Station unbesetzt: rufe auch per Sprechfunk um Hilfe.',
}

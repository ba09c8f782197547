import type { operating as english } from '../english/operating.js'
import type { Translated } from '../texts.js'

export const operating: Translated<typeof english> = {
  // Control by radio, in its own words of state
  controlNoCode: 'Envia {usual} CODE, con el codigo siguiente de tu lista.',
  controlNot: 'No hecho: {reason}.',
  controlNoEvent: 'no hay evento configurado',
  controlHeld: '{name} es {call} ahora.',
  controlNobody: 'nadie',
  controlReleased: 'Liberada.',
  controlReleasedLost: 'Liberada, pero un reinicio la para otra vez: falla el disco.',
  controlHolding: 'Parada {until}, en unos segundos.',
  controlHoldingLost: 'Parada {until}, un reinicio lo olvida.',
  controlUntilReleased: 'hasta liberarla',
  controlFor: 'durante {span}',
  controlSend: 'Envia {usage}',
  controlShown: '(solo mostrado: aqui no se prueba ningun codigo)',
  stateDuty: 'emision {percent}%',
  stateWaiting: '{count} esperan',
  stateDeaf: 'sin recepcion',
  codeNotEnrolled: 'este indicativo no esta inscrito',
  codeTries: 'demasiados codigos falsos: solo hold',
  codeDisk: 'el disco no guarda el contador',
  codeWrong: 'el codigo es falso o ya se uso',
  nameBad: '"{word}" no puede ser un nombre',
  nameNoCall: '"{word}" no es un indicativo',
  nameMany: 'ya hay {count} nombres',
  nameDisk: 'el disco no lo guarda',
  // Alerts, calls for help
  alertIs: 'Alerta {name}: {what}',
  alertOver: 'Fin de alerta: {name}',
  alertExercise: 'ejercicio: {what}',
  alertDisk: '{count} MB libres, limite {limit}',
  alertBeyond: '{name} {count}, limite {limit}',
  alertHeard: 'se oye {call}',
  alertSilent: '{call} sin oir desde hace {count}h',
  emergencyReply: 'Oido. Estacion sin operador: pide ayuda tambien por voz.',
}

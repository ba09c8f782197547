import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import { emergencyIn } from '../../src/node/emergency.js'

const words = {
  words: ['sos', 'mayday', 'emergency', 'notfall', 'au secours'],
  exerciseWords: ['exercise', 'drill', 'übung'],
}
const heard = (text: string, destination = 'APZ000') =>
  emergencyIn(parsePayload(new TextEncoder().encode(text), destination), words)
const message = (text: string) => heard(`:Q0HUT-10 :${text}`)

describe('calls for help', () => {
  it.each([
    ['SOS', 'sos'],
    ['sos!', 'sos'],
    ['SOS leg broken{12', 'sos'],
    ['  ...mayday mayday', 'mayday'],
    ['Emergency at the pass', 'emergency'],
    ['Notfall', 'notfall'],
    ['Au secours !', 'au secours'],
    ['there is an EMERGENCY here', 'EMERGENCY'],
    ['AU   SECOURS', 'au secours'],
    ['EMERGENCY 2 hurt', 'emergency'],
  ])('a message "%s"', (text, sign) => {
    expect(message(text)).toMatchObject({ sign, exercise: false })
  })

  it.each([
    'sosta alle nove',
    'emergencyexit?',
    'the sos box is empty',
    'where is the emergency exit',
    'help',
    'a NON-EMERGENCY matter',
    'NO EMERGENCY here',
    'EMERGENCYEXIT',
    'AA: EMERGENCY only by phone',
    '',
  ])('a message "%s" is none', (text) => {
    expect(message(text)).toBeUndefined()
  })

  it.each([
    ['EMERGENCY this is an exercise', true],
    ['sos DRILL', true],
    ['sos Übung', true],
    ['sos drilled a hole', false],
    ['sos on the backdrill', false],
    ['Drill: there is an EMERGENCY', true],
  ])('"%s" is an exercise: %s', (text, exercise) => {
    expect(message(text)?.exercise).toBe(exercise)
  })

  it('a position, a status and a Mic-E report', () => {
    expect(heard('!4512.00N/03642.00W>EMERGENCY')).toMatchObject({ sign: 'EMERGENCY' })
    expect(heard('>EMERGENCY at camp 2')).toMatchObject({ sign: 'EMERGENCY' })
    // APRS Protocol Reference 1.0.1, chapter 10: message bits 000 are an emergency: no letter from A to L or P to Z in the
    // first three characters of the destination
    expect(heard('`(_fn"Oj/', '332T6T')).toMatchObject({ sign: 'Mic-E emergency' })
    expect(heard('`(_fn"Oj/', 'S32U6T')).toBeUndefined()
  })

  it('an object is no call of its own', () => {
    expect(heard(';EMERGENCY*111111z4512.00N/03642.00W>EMERGENCY')).toBeUndefined()
  })
})

describe('words of the operator', () => {
  it('capitals and decomposed letters in the configuration are the same words; an empty one is none', () => {
    const own = { words: ['', ' HJÄLP '.normalize('NFD')], exerciseWords: ['', 'ÖVNING'] }
    const sent = (text: string) =>
      emergencyIn(parsePayload(new TextEncoder().encode(`:Q0HUT-10 :${text}`), 'APZ000'), own)
    expect(sent('hjälp')).toMatchObject({ exercise: false })
    expect(sent('Hjälp, övning'.normalize('NFD'))).toMatchObject({ exercise: true })
    expect(sent('hello')).toBeUndefined()
    expect(sent('12 hours')).toBeUndefined()
  })

  it('a bulletin and an item are no calls of their senders', () => {
    expect(heard(':BLN1     :EMERGENCY net tonight')).toBeUndefined()
    expect(heard(')EMERGENCY!4512.00N/03642.00W>EMERGENCY')).toBeUndefined()
  })
})

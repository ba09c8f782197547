import { parseTone, type ToneSaid } from './accessTone.js'
import type { AccessTone } from './entry.js'
import type { RepeaterField } from './headers.js'
import { parseYesNo } from './modes.js'
import type { RepeaterRow } from './row.js'

/** Whose 'transmit' and 'receive' a list means, where its headers do not say. */
export type Viewpoint = 'repeater' | 'user' | 'unknown'

/** What opens the repeater of a row; whatever is doubtful is left out with a warning, the repeater never. */
export function readAccess(
  row: RepeaterRow,
  viewpoint: Viewpoint,
  mode: string,
): AccessTone | undefined {
  const found = candidates(row, viewpoint, mode)
  const lasting = found.filter(({ kind }) => kind === 'tone' || kind === 'code')
  const kind = toneKind(row.cell('toneMode'))
  switch (kind) {
    case 'none':
      if (row.has('toneMode') && lasting.some((tone) => !isLeftOver(tone)))
        row.warn('toneMode', 'no tone is meant, though one stands there: kept without')
      if (row.has('toneMode')) return found.find(({ kind }) => kind === 'digital')
      break
    case 'squelch':
      return bothWays(row, lasting)
    case 'tone':
    case 'code': {
      const meant = lasting.find((one) => one.kind === kind)
      if (meant === undefined) row.warn('toneMode', 'no such tone stands there: kept without')
      return meant
    }
    case 'unclear':
      row.warn('toneMode', 'this kind of tone is not known')
  }
  const different = new Set(lasting.map((tone) => JSON.stringify(tone)))
  if (different.size > 1) {
    row.warn('tone', 'two that differ, and which opens it is not said: kept without a tone')
    return undefined
  }
  return lasting[0] ?? found[0]
}

/** Radios fill unused columns with these. */
const isLeftOver = (tone: AccessTone): boolean =>
  (tone.kind === 'tone' && tone.toneHz === 88.5) || (tone.kind === 'code' && tone.code === '023')

function toneKind(
  text: string,
): 'none' | 'tone' | 'squelch' | 'code' | 'burst' | 'digital' | 'unclear' {
  const word = text.toLowerCase().replace(/[^a-z0-9]/g, '')
  if (/^(|none|no|off|csq|carrier|keiner?|aucune?|ninguno|nessuno)$/.test(word)) return 'none'
  if (/^(tone|ctcss|pl|encode|enc|t|ton|tono|tx|tonetx)$/.test(word)) return 'tone'
  if (/^(tsql|tsq|tonesquelch|tonesql|encdec|ctcsstsql|tpl|squelch|both)$/.test(word))
    return 'squelch'
  if (/^(dtcs|dcs|dpl|dtcsr|digital|code)$/.test(word)) return 'code'
  if (/burst|1750|rufton/.test(word)) return 'burst'
  return /^(cc|ran|nac|colou?rcode|dmr|dgid)/.test(word) ? 'digital' : 'unclear'
}

/** The same tone goes both ways. Radios note it as the one that is sent, and leave the other as it was. */
function bothWays(row: RepeaterRow, lasting: readonly AccessTone[]): AccessTone | undefined {
  const sent = parseTone(row.cell('toneSent'))
  const access = lasting.find(({ kind }) => kind === 'tone')
  const other = sent.kind === 'access' && sent.tone.kind === 'tone' ? sent.tone : undefined
  if (other === undefined) return access ?? lasting[0]
  if (
    access === undefined ||
    isLeftOver(access) ||
    JSON.stringify(access) === JSON.stringify(other)
  )
    return other
  row.warn('toneSent', 'not the tone that opens it, and which is meant is not said: kept without')
  return undefined
}

/** Everything in the row that may open the repeater. */
function candidates(row: RepeaterRow, viewpoint: Viewpoint, mode: string): AccessTone[] {
  const found: AccessTone[] = []
  const take = (field: RepeaterField, said: ToneSaid): void => {
    if (said.kind === 'unclear') row.warn(field, `${said.why}: kept without a tone`)
    if (said.kind !== 'access') return
    if (said.doubt !== undefined) row.warn(field, `${said.doubt}: please look`)
    found.push(said.tone)
  }
  take('tone', parseTone(row.cell('tone')))
  takeSidewise(row, viewpoint, take)
  const code = row.cell('code')
  if (/^0*$/.test(code)) {
    // none
  } else if (/^\d{1,3}$/.test(code))
    take('code', parseTone(`D${code.padStart(3, '0')}${row.cell('codePolarity').slice(0, 1)}`))
  else take('code', parseTone(code))
  const burst = row.cell('burst')
  if (burst !== '') {
    if (parseYesNo(burst) ?? /1750/.test(burst)) found.push({ kind: 'burst' })
  }
  const digital = digitalCode(row.cell('colorCode'), mode)
  if (digital !== undefined) found.push(digital)
  return found
}

/** Columns for the transmitted and the received tone, where the headers do not say whose. */
function takeSidewise(
  row: RepeaterRow,
  viewpoint: Viewpoint,
  take: (field: RepeaterField, said: ToneSaid) => void,
): void {
  const transmit = row.cell('toneTransmit')
  const receive = row.cell('toneReceive')
  if (transmit === '' && receive === '') return
  const view = transmit === receive ? 'user' : viewpoint
  if (view === 'user') take('toneTransmit', parseTone(transmit))
  if (view === 'repeater') take('toneReceive', parseTone(receive))
  if (view !== 'unknown') return
  const [said, other] = [parseTone(transmit), parseTone(receive)]
  if (said.kind === 'none' && other.kind === 'none') return
  const field = said.kind === 'none' ? 'toneReceive' : 'toneTransmit'
  row.warn(field, 'whether it opens the repeater or is sent by it is not said: kept without a tone')
}

function digitalCode(text: string, mode: string): AccessTone | undefined {
  const bare = text.trim()
  if (bare === '' || /^(-+|none|n\/a)$/i.test(bare)) return undefined
  const said = parseTone(bare)
  if (said.kind === 'access' && said.tone.kind === 'digital') return said.tone
  if (!/^[0-9a-f]{1,3}$/i.test(bare)) return undefined
  const prefix = /NXDN/.test(mode) ? 'RAN' : /P25/.test(mode) ? 'NAC' : 'CC'
  return { kind: 'digital', text: `${prefix}${bare.toUpperCase()}` }
}

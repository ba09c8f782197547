/** When somebody wants to be back: a time of day, or so long from now. */
export type DueTime =
  | { readonly kind: 'clock'; readonly minuteOfDay: number }
  | { readonly kind: 'span'; readonly spanMs: number }

const minuteMs = 60_000

/** '18:00', '18.30', '1830', '18h', '18h30', '18 Uhr', '6pm', '6:30pm'; '3h', '90min', '+2h30', '2 hours'. Words between are left out. */
export function readDueTime(text: string): DueTime | undefined {
  const folded = text.toLowerCase().trim()
  const span =
    /^(?:in |\+|en |dans |tra |dentro de )?(\d{1,3}) ?(min|mins|minutes?|minuten|minuti|minutos)\b/.exec(
      folded,
    ) ??
    /^(?:in |\+|en |dans |tra |dentro de )(\d{1,2}) ?(h|hours?|stunden?|heures?|horas?|ore|ora)(\d{2})?\b/.exec(
      folded,
    ) ??
    /^(\d{1,2}) ?(h|hours?|stunden?|heures?|horas?|ore|ora)\b/.exec(folded)
  if (span !== null) return spanOf(span, folded)
  const clock =
    /^(?:at |by |um |bis |a las |las |alle |a |à )?(\d{1,2})(?:[:.h](\d{2})|(\d{2})|h)? ?(am|pm|uhr)?\b/.exec(
      folded,
    )
  if (clock === null) return undefined
  const [, hourText = '', minutes, glued, half] = clock
  const hour = Number(hourText) + (half === 'pm' && Number(hourText) < 12 ? 12 : 0)
  const minute = Number(minutes ?? glued ?? 0)
  if (hour > 24 || minute > 59 || (hour === 24 && minute > 0)) return undefined
  return {
    kind: 'clock',
    minuteOfDay: (half === 'am' && hour === 12 ? 0 : hour % 24) * 60 + minute,
  }
}

function spanOf([, count = '', unit = '', more = '0']: RegExpExecArray, text: string): DueTime {
  // '18h' is a time of day in French and Spanish; nobody sets a watch of more than half a day by hours alone.
  if (/^\d/.test(text) && unit === 'h' && Number(count) > 12)
    return { kind: 'clock', minuteOfDay: (Number(count) % 24) * 60 }
  const ms = Number(count) * (unit.startsWith('m') ? minuteMs : 60 * minuteMs)
  return { kind: 'span', spanMs: ms + Number(more) * minuteMs }
}

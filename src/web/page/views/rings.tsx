import type { StationView } from '../../schemas'
import { km } from '../format'
import { state } from '../model'
import { words } from '../settings'
import { reachOf } from './reach'

const size = 340
const middle = size / 2
const outer = middle - 26
const ringCount = 3

/** Round distances, of which the outermost holds all that are within reach. */
function ringStep(farthestKm: number): number {
  const least = Math.max(1, farthestKm) / ringCount
  const decade = 10 ** Math.floor(Math.log10(least))
  return decade * ([1, 2, 5, 10].find((factor) => factor * decade >= least) ?? 10)
}

interface Box {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

const overlaps = (a: Box, b: Box): boolean =>
  a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height

/** The first place about a dot where a call covers no other. */
function labelFor(
  x: number,
  y: number,
  call: string,
  taken: Box[],
): { readonly x: number; readonly y: number } {
  const width = call.length * 8
  const places = [0, 14, -14, 28, -28, 42].flatMap((down) => [
    { x: x + 8, y: y - 9 + down, width, height: 14 },
    { x: x - 8 - width, y: y - 9 + down, width, height: 14 },
  ])
  const inside = places.filter((box) => box.x >= 0 && box.x + width <= size)
  const free = inside.find((box) => !taken.some((other) => overlaps(other, box))) ?? places[0]!
  taken.push(free)
  return { x: free.x, y: free.y + 13 }
}

/** Who is where, as seen from the node: by bearing and distance, without a map. */
export function Rings({ stations }: { readonly stations: readonly StationView[] }) {
  const text = words.value.station
  const placed = stations
    .filter((one) => one.distanceKm !== undefined && one.distanceKm > 0.05)
    .slice(0, 24)
  if (state.value?.position === undefined) return <p class="quiet">{text.noPosition}</p>
  if (placed.length === 0) return null
  const step = ringStep(reachOf(placed.map((one) => one.distanceKm!)))
  const scale = outer / (step * ringCount)
  const taken: Box[] = [
    { x: middle - 8, y: middle - 8, width: 16, height: 16 },
    { x: middle - 16, y: 2, width: 14, height: 14 },
    ...Array.from({ length: ringCount }, (_, ring) => ({
      ...{
        x: middle + 3,
        y: middle - (outer * (ring + 1)) / ringCount - 14,
        width: 60,
        height: 12,
      },
    })),
  ]

  return (
    <svg class="rings" viewBox={`0 0 ${size} ${size}`} role="img" aria-label={text.ringsLabel}>
      {Array.from({ length: ringCount }, (_, ring) => (
        <g key={ring}>
          <circle cx={middle} cy={middle} r={(outer * (ring + 1)) / ringCount} />
          <text class="small" x={middle + 3} y={middle - (outer * (ring + 1)) / ringCount - 3}>
            {km(step * (ring + 1))}
          </text>
        </g>
      ))}
      <line x1={middle} y1={middle - outer} x2={middle} y2={middle + outer} />
      <line x1={middle - outer} y1={middle} x2={middle + outer} y2={middle} />
      <text class="north" x={middle - 14} y={14}>
        N
      </text>
      <path
        class="node"
        d={`M${middle - 6} ${middle + 5} L${middle} ${middle - 7} L${middle + 6} ${middle + 5} Z`}
      />
      {placed.map((one) => {
        const angle = (one.bearingDeg! * Math.PI) / 180
        // What lies beyond the rings stands at the outermost, as an arrow out, with its distance.
        const isBeyond = one.distanceKm! > step * ringCount
        const radius = isBeyond ? outer + 6 : one.distanceKm! * scale
        const x = middle + Math.sin(angle) * radius
        const y = middle - Math.cos(angle) * radius
        const manner = one.via[0] === 'direct' ? 'direct' : 'relayed'
        const name = isBeyond ? `${one.call}, ${km(one.distanceKm!)}` : one.call
        const label = labelFor(x, y, name, taken)
        return (
          <g key={one.call}>
            {isBeyond ? (
              <path
                class={manner}
                d="M-5 5L0 -6L5 5Z"
                transform={`translate(${x} ${y}) rotate(${one.bearingDeg!})`}
              />
            ) : (
              <circle class={manner} cx={x} cy={y} r="4.5" />
            )}
            <text x={label.x} y={label.y}>
              {name}
            </text>
          </g>
        )
      })}
    </svg>
  )
}

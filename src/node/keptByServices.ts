import type { ServiceEffects, ServiceStorage } from '../services/service.js'
import type { MessageRecord } from '../store/messages.js'
import type { Store } from '../store/store.js'
import type { ServiceMessages, Wanted } from './serviceMessages.js'

/** What the answer to one question keeps, and has sent besides. */
export interface QuestionStorage extends ServiceStorage, ServiceEffects {
  /** there is nothing to commit */
  readonly isEmpty: boolean
  /**
   * Inside the transaction that answers the question.
   * @param id of the question, or of the occasion
   * @returns what the outbox is to send
   */
  commit(id: string): MessageRecord[]
  /** When the question is over: what was not committed is forgotten, and a service that is late writes nothing. */
  end(): void
}

/** What own services keep through the node. */
export interface KeptByServices {
  begin(): QuestionStorage
}

type Changes = ReadonlyMap<string, string | undefined>
interface Written {
  readonly service: string
  readonly changes: Changes
}

export interface KeptByServicesParts {
  readonly store: Store
  readonly serviceMessages: ServiceMessages
  /** what a service keeps is written */
  readonly onChanged?: (service: string) => void
}

/** Written together with the answer: a service that failed, or a node that went down, leaves no half of it. */
export function keptByServices({
  store,
  serviceMessages,
  onChanged = () => {},
}: KeptByServicesParts): KeptByServices {
  // A service's next question may read before the answer to the last one is committed.
  const uncommitted = new Set<Written>()
  return {
    begin() {
      const own: Written[] = []
      const wanted: Wanted[] = []
      let ended = false
      return {
        read(service) {
          const all = store.serviceData.all(service)
          for (const one of uncommitted) if (one.service === service) change(all, one.changes)
          return all
        },
        write(service, changes) {
          if (ended) return
          const one = { service, changes }
          own.push(one)
          uncommitted.add(one)
        },
        send(service, to, text) {
          if (!ended) wanted.push({ service, to, text })
        },
        post(service, text) {
          if (!ended) wanted.push({ service, text })
        },
        get isEmpty() {
          return own.length === 0 && wanted.length === 0
        },
        commit(id) {
          for (const { service, changes } of own) {
            for (const [key, value] of changes) {
              if (value === undefined) store.serviceData.delete(service, key)
              else store.serviceData.set(service, key, value)
            }
            onChanged(service)
          }
          return serviceMessages.insert(id, wanted)
        },
        end() {
          ended = true
          for (const one of own) uncommitted.delete(one)
        },
      }
    },
  }
}

function change(all: Map<string, string>, changes: Changes): void {
  for (const [key, value] of changes) {
    if (value === undefined) all.delete(key)
    else all.set(key, value)
  }
}

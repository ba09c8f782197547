/** What the node says when it does not do what was asked. */
export class ApiError extends Error {
  constructor(
    readonly status: number,
    message: string,
  ) {
    super(message)
  }
}

const api = '/api/v1'

export async function get<Value>(path: string): Promise<Value> {
  return read<Value>(await fetch(`${api}/${path}`, { cache: 'no-store' }))
}

/** A change; without a body nothing is sent along. */
export async function change<Value>(
  method: 'POST' | 'PUT' | 'DELETE',
  path: string,
  body?: unknown,
): Promise<Value | undefined> {
  const response = await fetch(`${api}/${path}`, {
    method,
    ...(body !== undefined && {
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
    }),
  })
  return response.status === 204 ? undefined : read<Value>(response)
}

async function read<Value>(response: Response): Promise<Value> {
  const value = await response.json().catch(() => undefined)
  if (response.ok) return value as Value
  const message = (value as { error?: { message?: string } } | undefined)?.error?.message
  throw new ApiError(response.status, message ?? `status ${response.status}`)
}

import { z } from 'zod'
import type { Route } from './route.js'
import { errorSchema } from './schemas.js'

/** The API's description (OpenAPI 3.1), out of the routes and their schemas. */
export function openApi(routes: readonly Route[], version: string): unknown {
  const paths: Record<string, Record<string, unknown>> = {}
  for (const route of routes) {
    paths[route.path] ??= {}
    paths[route.path]![route.method.toLowerCase()] = operation(route)
  }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Ridgepost',
      version,
      description: 'Times are milliseconds since 1970. What is absent is not known.',
    },
    paths,
    components: {
      schemas: { Error: jsonSchema(errorSchema) },
      securitySchemes: {
        session: { type: 'apiKey', in: 'cookie', name: 'ridgepost' },
        token: { type: 'http', scheme: 'bearer' },
      },
    },
  }
}

function operation({ path, summary, right, query, body, ...gives }: Route): unknown {
  const named = [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => ({
    ...{ name, in: 'path', required: true, schema: { type: 'string' } },
  }))
  return {
    summary,
    ...(right === 'none' ? {} : { security: [{ session: [] }, { token: [] }] }),
    parameters: [...named, ...(query === undefined ? [] : queryParameters(query))],
    ...(body === undefined
      ? {}
      : { requestBody: { required: true, content: jsonContent(jsonSchema(body)) } }),
    responses: {
      ...answers(gives),
      default: {
        description: 'why not',
        content: jsonContent({ $ref: '#/components/schemas/Error' }),
      },
    },
  }
}

function answers({ response, type, unwell }: Pick<Route, 'response' | 'type' | 'unwell'>): object {
  const asked = 'as asked for'
  if (type !== undefined) return { 200: { description: asked, content: { [type]: {} } } }
  if (response === undefined) return { 204: { description: 'done' } }
  return {
    200: { description: asked, content: jsonContent(jsonSchema(response)) },
    ...(unwell && { 503: { description: 'not well', content: jsonContent(jsonSchema(unwell)) } }),
  }
}

const jsonContent = (schema: unknown): object => ({ 'application/json': { schema } })

interface ObjectSchema {
  readonly properties?: Readonly<Record<string, unknown>>
  readonly required?: readonly string[]
}

function queryParameters(query: z.ZodType): unknown[] {
  const { properties = {}, required = [] } = jsonSchema(query) as ObjectSchema
  return Object.entries(properties).map(([name, schema]) => ({
    ...{ name, in: 'query', required: required.includes(name), schema },
  }))
}

function jsonSchema(schema: z.ZodType): unknown {
  const { $schema: _, ...rest } = z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' })
  return rest
}

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

function operation({ path, summary, right, query, body, response, type }: Route): unknown {
  const named = [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => ({
    ...{ name, in: 'path', required: true, schema: { type: 'string' } },
  }))
  const content =
    type === undefined
      ? { 'application/json': { schema: response === undefined ? {} : jsonSchema(response) } }
      : { [type]: {} }
  return {
    summary,
    ...(right === 'none' ? {} : { security: [{ session: [] }, { token: [] }] }),
    parameters: [...named, ...(query === undefined ? [] : queryParameters(query))],
    ...(body === undefined
      ? {}
      : {
          requestBody: {
            required: true,
            content: { 'application/json': { schema: jsonSchema(body) } },
          },
        }),
    responses: {
      200: { description: 'as asked for', content },
      default: {
        description: 'why not',
        content: { 'application/json': { schema: { $ref: '#/components/schemas/Error' } } },
      },
    },
  }
}

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

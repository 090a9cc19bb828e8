/** The OpenAPI document lists every route that there is, and nothing in it points nowhere. */

import { describe, expect, test } from 'vitest';
import * as z from 'zod/mini';
import { endpoints } from '../../daemon/web/endpoints.ts';
import { webUnderTest } from './fixture.ts';

const contentSchema = z.record(z.string(), z.object({ schema: z.looseObject({}) }));
const operationSchema = z.object({
  operationId: z.string(),
  parameters: z.array(
    z.object({
      name: z.string(),
      in: z.string(),
      required: z.boolean(),
      schema: z.looseObject({}),
    }),
  ),
  requestBody: z.optional(z.object({ content: contentSchema })),
  responses: z.record(z.string(), z.object({ content: z.optional(contentSchema) })),
});
/** As much of an OpenAPI document as is looked at here. */
const documentSchema = z.object({
  openapi: z.string(),
  paths: z.record(z.string(), z.record(z.string(), operationSchema)),
  components: z.object({ schemas: z.record(z.string(), z.looseObject({})) }),
});

async function served() {
  const web = await webUnderTest();
  const text = (await web.ask('GET', '/api/openapi.json')).text;
  const document = documentSchema.parse(JSON.parse(text));
  // Middleware stands under ALL; what is left are the routes, once for each of their handlers.
  const routes = new Set(
    web.app.routes
      .filter(({ method }) => method !== 'ALL')
      .map(({ method, path }) => `${method.toLowerCase()} ${path}`),
  );
  return { document, routes, text };
}

describe('the document', () => {
  test('lists every route of the application, and no other', async () => {
    const { document, routes } = await served();
    expect(routes.size).toBeGreaterThan(25);
    const listed = Object.entries(document.paths).flatMap(([path, methods]) =>
      Object.keys(methods).map((method) => `${method} ${path.replace(/\{(\w+)\}/g, ':$1')}`),
    );
    expect(listed.toSorted()).toEqual([...routes].toSorted());
  });

  test('gives each route a request and a response schema', async () => {
    const { document } = await served();
    for (const endpoint of endpoints) {
      const path = endpoint.path.replace(/:(\w+)/g, '{$1}');
      const operation = document.paths[path]?.[endpoint.method];
      if (operation === undefined) throw new Error(`${path} is missing.`);
      if (endpoint.method === 'post' || endpoint.method === 'put') {
        const type = endpoint.upload?.[0] ?? 'application/json';
        const schema = operation.requestBody?.content[type]?.schema;
        expect(schema, path).toBeDefined();
      }
      const success = operation.responses['200'] ?? operation.responses['101'];
      const [content] = Object.entries(success?.content ?? {});
      expect(content, path).toBeDefined();
      const free = path.endsWith('.csv') || path.endsWith('openapi.json');
      if (!free) expect(Object.keys(content?.[1].schema ?? {}), path).not.toEqual([]);
      const named = [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => name);
      const inPath = operation.parameters.filter((parameter) => parameter.in === 'path');
      expect(
        inPath.map(({ name }) => name),
        path,
      ).toEqual(named);
    }
  });

  test('points only at schemas that it holds, and holds only schemas that are pointed at', async () => {
    const { document, text } = await served();
    const used = new Set([...text.matchAll(/"\$ref":"([^"]+)"/g)].map(([, ref]) => ref));
    expect(used.size).toBeGreaterThan(10);
    const held = Object.keys(document.components.schemas).map(
      (name) => `#/components/schemas/${name}`,
    );
    expect([...used].filter((ref) => ref !== undefined && !held.includes(ref))).toEqual([]);
    expect(held.filter((ref) => !used.has(ref))).toEqual([]);
    expect(text).not.toContain('inline-');
  });

  test('names each operation once and says what a change needs', async () => {
    const { document } = await served();
    expect(document.openapi).toBe('3.1.0');
    const operations = Object.values(document.paths).flatMap((methods) => Object.values(methods));
    const ids = operations.map(({ operationId }) => operationId);
    expect(new Set(ids).size).toBe(ids.length);
    const start = document.paths['/api/tanks/{id}/start']?.['post'];
    const headers = start?.parameters.filter((parameter) => parameter.in === 'header');
    expect(headers?.map(({ name, required }) => [name, required])).toEqual([
      ['x-nightbath', true],
      ['idempotency-key', true],
    ]);
    const runs = document.paths['/api/runs']?.['get'];
    const limit = runs?.parameters.find(({ name }) => name === 'limit');
    expect(limit?.schema).toMatchObject({ type: 'integer', minimum: 1, maximum: 200, default: 50 });
  });
});

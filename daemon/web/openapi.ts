/** The OpenAPI 3.1 document, made from the table of endpoints and the schemas they name. */

import * as z from 'zod/mini';
import { alertChannelSchema, alertReadinessSchema } from '../wire/alerts.ts';
import { benchSnapshotSchema, liveMessageSchema, tankSnapshotSchema } from '../wire/bench.ts';
import { setStepsSchema, supplyLinkSchema, triedSchema } from '../wire/bring-up.ts';
import { tankChecksSchema } from '../wire/checks.ts';
import { armBodySchema, onRunBodySchema, startBodySchema } from '../wire/command.ts';
import { materialSchema, materialsJudgementSchema } from '../wire/materials.ts';
import {
  pieceDocumentSchema,
  pieceSummarySchema,
  savedPieceSchema,
  storedPictureSchema,
} from '../wire/library.ts';
import { ledgerEntrySchema, ledgerViewSchema, savedEntrySchema } from '../wire/ledger.ts';
import { meshAnswerSchema } from '../wire/mesh.ts';
import {
  bathSchema,
  planAskSchema,
  planQuestionSchema,
  planRequestSchema,
  planSchema,
  problemSchema,
} from '../wire/plan.ts';
import {
  alarmSchema,
  eventRowSchema,
  readingRowSchema,
  runRecordSchema,
  runSummarySchema,
  seriesSchema,
} from '../wire/run.ts';
import { runDocumentSchema } from '../wire/run-document.ts';
import { savedWeighInSchema, weighInSchema, weighInViewSchema } from '../wire/weigh-in.ts';
import { changeLookSchema, runNoteSchema } from '../wire/run-book.ts';
import { wireVersion } from '../wire/version.ts';
import { endpoints } from './endpoints.ts';
import type { Answer, Endpoint } from './endpoint.ts';
import { pageHeader } from './guard.ts';
import { problemDocumentSchema } from './problem.ts';
import { healthSchema, settingsViewSchema } from './schemas.ts';

type Json = Readonly<Record<string, unknown>>;

/** Schemas that stand under a name of their own; every other one is written out where it is used. */
const named: Readonly<Record<string, z.ZodMiniType>> = {
  ChangeLook: changeLookSchema,
  RunNote: runNoteSchema,
  Alarm: alarmSchema,
  AlertChannel: alertChannelSchema,
  AlertReadiness: alertReadinessSchema,
  ArmBody: armBodySchema,
  Bath: bathSchema,
  BenchSnapshot: benchSnapshotSchema,
  EventRow: eventRowSchema,
  Health: healthSchema,
  LedgerEntry: ledgerEntrySchema,
  LedgerView: ledgerViewSchema,
  LiveMessage: liveMessageSchema,
  MeshAnswer: meshAnswerSchema,
  Material: materialSchema,
  MaterialsJudgement: materialsJudgementSchema,
  OnRunBody: onRunBodySchema,
  PieceDocument: pieceDocumentSchema,
  PieceSummary: pieceSummarySchema,
  Plan: planSchema,
  PlanAsk: planAskSchema,
  PlanQuestion: planQuestionSchema,
  PlanRequest: planRequestSchema,
  Problem: problemSchema,
  ProblemDocument: problemDocumentSchema,
  ReadingRow: readingRowSchema,
  RunDocument: runDocumentSchema,
  RunRecord: runRecordSchema,
  RunSummary: runSummarySchema,
  Series: seriesSchema,
  SavedEntry: savedEntrySchema,
  SavedPiece: savedPieceSchema,
  SavedWeighIn: savedWeighInSchema,
  SetSteps: setStepsSchema,
  SettingsView: settingsViewSchema,
  SupplyLink: supplyLinkSchema,
  TriedDialect: triedSchema,
  StoredPicture: storedPictureSchema,
  StartBody: startBodySchema,
  TankChecks: tankChecksSchema,
  TankSnapshot: tankSnapshotSchema,
  WeighIn: weighInSchema,
  WeighInView: weighInViewSchema,
};

let made: Json | null = null;

/** The document as a plain object, ready to be written as JSON; made when it is first asked for. */
export function openApiDocument(): Json {
  made ??= makeDocument();
  return made;
}

function makeDocument(): Json {
  const registry = z.registry<{ id: string }>();
  for (const [id, schema] of Object.entries(named)) registry.add(schema, { id });
  // Unnamed ones join under numbers, so that what they share with named ones becomes a reference.
  const inline = new Map<z.core.$ZodType, string>();
  for (const schema of usedSchemas()) {
    if (registry.has(schema)) continue;
    const id = `inline-${inline.size}`;
    inline.set(schema, id);
    registry.add(schema, { id });
  }
  const { schemas } = z.toJSONSchema(registry, { uri, io: 'output' });
  const refer = (schema: z.core.$ZodType): Json => {
    const id = inline.get(schema);
    if (id !== undefined) return plain(schemas[id] ?? {});
    return { $ref: uri(registry.get(schema)?.id ?? '') };
  };
  const components = Object.fromEntries(
    Object.keys(named).map((id) => [id, plain(schemas[id] ?? {})]),
  );
  return {
    openapi: '3.1.0',
    info: {
      title: 'Nightbath',
      version: String(wireVersion),
      description: `Served on this machine, and on the network where the settings say so. A POST, PUT or DELETE needs an Origin header of the same address and the header ${pageHeader}: 1.`,
    },
    paths: paths(refer),
    components: {
      schemas: components,
      securitySchemes: {
        session: {
          type: 'apiKey',
          in: 'cookie',
          name: 'nightbath',
          description:
            'The session that POST /api/session opens, named __Host-nightbath over https. Each route names the least role: view, stop or control. A browser on the machine of the bench needs none unless the settings say so.',
        },
      },
    },
  };
}

function uri(id: string): string {
  return `#/components/schemas/${id}`;
}

function plain(schema: object): Json {
  return Object.fromEntries(
    Object.entries(schema).filter(([key]) => key !== '$schema' && key !== '$id'),
  );
}

function usedSchemas(): Set<z.core.$ZodType> {
  const used = new Set<z.core.$ZodType>();
  for (const { query, body, answers } of endpoints) {
    for (const field of Object.values(query?.shape ?? {})) used.add(field);
    if (body !== undefined) used.add(body);
    for (const { schema } of Object.values(answers)) if (schema !== undefined) used.add(schema);
  }
  return used;
}

type Refer = (schema: z.core.$ZodType) => Json;

function paths(refer: Refer): Json {
  const result: Record<string, Record<string, Json>> = {};
  for (const endpoint of endpoints) {
    const path = endpoint.path.replace(/:(\w+)/g, '{$1}');
    result[path] = { ...result[path], [endpoint.method]: operation(endpoint, refer) };
  }
  return result;
}

function operation(endpoint: Endpoint, refer: Refer): Json {
  return {
    operationId: operationId(endpoint),
    summary: endpoint.summary,
    // By OpenAPI a list of alternatives; an empty one asks for nothing.
    security: endpoint.role === 'open' ? [] : [{ session: [endpoint.role] }],
    parameters: parameters(endpoint, refer),
    ...(endpoint.body !== undefined && {
      requestBody: {
        required: endpoint.key !== 'optional',
        content: { 'application/json': { schema: refer(endpoint.body) } },
      },
    }),
    ...(endpoint.upload !== undefined && {
      requestBody: {
        required: true,
        content: Object.fromEntries(endpoint.upload.map((type) => [type, { schema: {} }])),
      },
    }),
    responses: responses(endpoint, refer),
  };
}

function operationId({ method, path }: Endpoint): string {
  const words = path.split(/[^A-Za-z0-9]+/).filter((word) => word !== '' && word !== 'api');
  return [method, ...words].join('-');
}

function parameters(endpoint: Endpoint, refer: Refer): readonly Json[] {
  const inPath = [...endpoint.path.matchAll(/:(\w+)/g)].map(([, name]) => ({
    name,
    in: 'path',
    required: true,
    schema: { type: 'string' },
  }));
  const inQuery = Object.entries(endpoint.query?.shape ?? {}).map(([name, schema]) => ({
    name,
    in: 'query',
    required: false,
    schema: refer(schema),
  }));
  const header = (name: string, required: boolean, schema: Json): Json => ({
    name,
    in: 'header',
    required,
    schema,
  });
  const inHeader = endpoint.method !== 'get' ? [header(pageHeader, true, { const: '1' })] : [];
  if (endpoint.key !== undefined) {
    const schema = { type: 'string', minLength: 1, maxLength: 100 };
    inHeader.push(header('idempotency-key', endpoint.key === 'required', schema));
  }
  return [...inPath, ...inQuery, ...inHeader];
}

function responses(endpoint: Endpoint, refer: Refer): Json {
  const answers = Object.entries(endpoint.answers).map(([status, answer]) => [
    status,
    response(answer, refer),
  ]);
  const codes = [...new Set([401, 403, 404, 500, ...endpoint.problems])].filter(
    (status) => !(status in endpoint.answers),
  );
  const problem = {
    description: 'A problem document (RFC 9457).',
    content: { 'application/problem+json': { schema: refer(problemDocumentSchema) } },
  };
  return Object.fromEntries([...answers, ...codes.map((status) => [String(status), problem])]);
}

function response(answer: Answer, refer: Refer): Json {
  const schema = answer.schema === undefined ? {} : refer(answer.schema);
  const mediaType = answer.mediaType ?? 'application/json';
  return { description: answer.description, content: { [mediaType]: { schema } } };
}

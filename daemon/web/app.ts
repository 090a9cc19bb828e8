/** The web application: guard first, then the API, then the dashboard, with every error as a problem. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import type { Logger } from 'pino';
import { StoreError } from '../store/door.ts';
import type { AccessDesk } from './access/desk.ts';
import { gate } from './access/gate.ts';
import { accessRoutes } from './access/routes.ts';
import { alertRoutes } from './alerts.ts';
import { benchRoutes } from './bench.ts';
import type { BenchDeps } from './bench.ts';
import { bringUpRoutes } from './bring-up.ts';
import { commandRoutes } from './commands.ts';
import { endpoints } from './endpoints.ts';
import { exportRoutes } from './exports.ts';
import { guard } from './guard.ts';
import type { AccessList } from './guard.ts';
import { ledgerRoutes } from './ledger.ts';
import { logRoutes } from './log.ts';
import { meshRoutes } from './meshes/door.ts';
import type { MeshDeskLimits } from './meshes/mesh-desk.ts';
import { pages } from './pages.ts';
import { PictureSender, pictureRoutes } from './pictures.ts';
import { pieceRoutes } from './pieces.ts';
import { ProblemError } from './problem.ts';
import { referenceRoutes } from './reference.ts';
import type { ReferenceDeps } from './reference.ts';
import { settingsRoutes } from './settings/routes.ts';
import { systemRoutes } from './system.ts';
import type { SystemDeps } from './system.ts';

export interface AppDeps extends BenchDeps, ReferenceDeps, SystemDeps {
  readonly access: AccessList;
  readonly desk: AccessDesk;
  /** Whether the page is served over https. */
  readonly secure: boolean;
  /** Absolute; may be missing as long as the dashboard was not built. */
  readonly dashboardFolder: string;
  readonly log: Logger;
  readonly env: NodeJS.ProcessEnv;
  /** Null where nobody can sign in. */
  readonly passphraseFile: string | null;
  /** A client that takes nothing of its export for this long loses it, ms. */
  readonly exportStallMs?: number;
  /** Other bounds on meshes than the usual ones. */
  readonly meshLimits?: Partial<MeshDeskLimits>;
}

export type WebApp = ReturnType<typeof createApp>;

/** Builds the application; it answers only names on the access list. */
export function createApp(deps: AppDeps) {
  const sender = new PictureSender(deps);
  const app = new Hono()
    .use(guard(deps.access, deps.settings.web.tls?.hstsDays))
    .use(gate(deps.desk, endpoints))
    .route('/api', accessRoutes(deps.desk, deps.secure))
    .route('/', systemRoutes(deps))
    .route('/api', benchRoutes(deps))
    .route('/api', referenceRoutes(deps))
    .route('/api', commandRoutes(deps))
    .route('/api', alertRoutes(deps))
    .route('/api', bringUpRoutes(deps))
    .route('/api', settingsRoutes({ ...deps, file: deps.place.file }))
    .route('/api', logRoutes(deps.reader))
    .route('/api', ledgerRoutes(deps))
    .route('/api', exportRoutes(deps.reader, deps.exportStallMs))
    .route('/api', meshRoutes(deps.meshLimits))
    .route('/api', pieceRoutes({ ...deps, sender }))
    .route('/api', pictureRoutes(deps.reader.library, sender))
    .use(pages(deps.dashboardFolder));
  app.notFound((context) => answerProblem(context, notServed(context)));
  app.onError((error, context) => {
    if (error instanceof ProblemError) return answerProblem(context, error);
    if (error instanceof StoreError) {
      deps.log.warn({ err: error, path: context.req.path }, 'The log could not be read.');
      return answerProblem(context, logUnreadable(error));
    }
    deps.log.error({ err: error, path: context.req.path }, 'A request failed.');
    const detail = 'Something failed in the page server; its log says what. Runs are not affected.';
    return answerProblem(context, new ProblemError('internal', detail));
  });
  return app;
}

function answerProblem(context: Context, error: ProblemError): Response {
  return context.body(JSON.stringify(error.document()), error.status, {
    ...error.headers,
    'content-type': 'application/problem+json',
  });
}

function logUnreadable(error: StoreError): ProblemError {
  const detail = `The log cannot be read right now. ${error.message}`;
  return new ProblemError('unavailable', detail, [], { 'retry-after': '2' });
}

/** A path that exists under another method is told apart from one that does not exist. */
function notServed(context: Context): ProblemError {
  const known = endpoints.filter(({ path }) => matches(path, context.req.path));
  if (known.length === 0) return new ProblemError('notFound', 'There is nothing at this address.');
  const methods = known.map(({ method }) =>
    method === 'get' ? 'GET, HEAD' : method.toUpperCase(),
  );
  const allow = [...new Set(methods)].join(', ');
  return new ProblemError('methodNotAllowed', `This address answers ${allow} only.`, [], { allow });
}

function matches(pattern: string, path: string): boolean {
  const wanted = pattern.split('/');
  const given = path.split('/');
  return (
    wanted.length === given.length &&
    wanted.every((part, index) => part.startsWith(':') || part === given[index])
  );
}

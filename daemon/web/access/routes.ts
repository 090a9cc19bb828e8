/** Signing in and out by HTTP, and who is signed in. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import { deleteCookie, setCookie } from 'hono/cookie';
import { signInBodySchema } from '../../wire/session.ts';
import type { SessionView } from '../../wire/session.ts';
import { jsonBody } from '../body.ts';
import type { AccessDesk } from './desk.ts';
import { lifetimeMs } from './sessions.ts';
import type { Session } from './sessions.ts';

/** A passphrase and a name, escaped as JSON may escape them, bytes. */
const maxSignInBytes = 4 * 1024;

export function accessRoutes(desk: AccessDesk, secure: boolean) {
  const cookie = { path: '/', httpOnly: true, sameSite: 'Strict', secure } as const;
  const forget = (context: Context): void => {
    deleteCookie(context, desk.cookieName, cookie);
  };
  return new Hono()
    .get('/session', (context) => context.json(desk.standing(context.get('caller'))))
    .post('/session', jsonBody(signInBodySchema, undefined, maxSignInBytes), async (context) => {
      const { passphrase, name = '' } = context.req.valid('json');
      const caller = context.get('caller');
      const { token, session } = await desk.signIn(caller, passphrase, name.trim());
      setCookie(context, desk.cookieName, token, { ...cookie, maxAge: lifetimeMs / 1000 });
      return context.json(desk.standing(desk.with(caller, session)));
    })
    .delete('/session', (context) => {
      const caller = context.get('caller');
      desk.signOut(caller);
      forget(context);
      return context.json(desk.standing(desk.with(caller, null)));
    })
    .get('/sessions', (context) => context.json(desk.sessions.all().map(view)))
    .delete('/sessions', (context) => {
      desk.signOutAll(context.get('caller'));
      forget(context);
      return context.json([]);
    });
}

function view({ id, role, name, address, openedWallMs, seenWallMs }: Session): SessionView {
  return { id, role, name, address, signedInWallMs: openedWallMs, seenWallMs };
}

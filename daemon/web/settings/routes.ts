/** Settings over HTTP: the file, changes of it, who made them, passphrases, and taking it all over. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import type { StoreReader } from '../../store/door.ts';
import { passphraseBodySchema, settingsSaveBodySchema } from '../../wire/settings.ts';
import { jsonBody, pathParam } from '../body.ts';
import { byOf, obey, requiredKey } from '../commands.ts';
import type { CommandDeps } from '../commands.ts';
import { ProblemError } from '../problem.ts';
import { emptyBodySchema, tankIdSchema } from '../schemas.ts';
import { SettingsDesk } from './desk.ts';
import type { Asker, SettingsDeskDeps } from './desk.ts';
import { changePassphrase } from './passphrases.ts';

export interface SettingsRoutesDeps extends CommandDeps, SettingsDeskDeps {
  readonly reader: StoreReader;
}

const mostNotes = 20;
/** Events among which notes are looked for. */
const eventsLookedAt = 2_000;

function askerOf(context: Context): Asker {
  return { by: byOf(context), here: context.get('caller').here };
}

function bathIdOf(id: string): string {
  return pathParam(tankIdSchema, id, 'bath');
}

export function settingsRoutes(deps: SettingsRoutesDeps) {
  const desk = new SettingsDesk(deps);
  return new Hono()
    .get('/settings/file', (context) => context.json(desk.show(askerOf(context))))
    .post('/settings/file', jsonBody(settingsSaveBodySchema), (context) => {
      const { hash, changes } = context.req.valid('json');
      return context.json(desk.save(askerOf(context), hash, changes));
    })
    .get('/settings/baths/:id', (context) =>
      context.json(desk.showBath(bathIdOf(context.req.param('id')))),
    )
    .post('/settings/baths/:id', jsonBody(settingsSaveBodySchema), (context) => {
      const { hash, changes } = context.req.valid('json');
      const id = bathIdOf(context.req.param('id'));
      return context.json(desk.saveBath(askerOf(context), id, hash, changes));
    })
    .post('/settings/take-over', jsonBody(emptyBodySchema), async (context) => {
      const command = { kind: 'take-settings', by: byOf(context) } as const;
      return context.json(await obey(deps, command, requiredKey(context)));
    })
    .get('/settings/history', (context) => {
      const notes = deps.reader
        .recentEvents(eventsLookedAt)
        .filter(({ code }) => code === 'settings')
        .map(({ wallMs, message }) => ({ wallMs, message }));
      return context.json(notes.slice(0, mostNotes));
    })
    .post('/settings/passphrase', jsonBody(passphraseBodySchema), async (context) => {
      const { role, passphrase } = context.req.valid('json');
      const { by, here } = askerOf(context);
      if (!here) {
        const detail =
          'Passphrases are changed in a browser on the machine of the bench itself, or there with ' +
          '"nightbath passphrase".';
        throw new ProblemError('forbidden', detail);
      }
      await changePassphrase(
        [deps.settings, ...desk.saved()],
        deps.passphraseFile,
        role,
        passphrase,
      );
      const what = passphrase === null ? 'taken away' : 'set';
      desk.note(`The passphrase for ${role} was ${what} by ${by}.`);
      return context.json({ ok: true });
    });
}

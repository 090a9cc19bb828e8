/** Arms a run: plans it anew from what is true now, refuses what cannot be, and hands it to the tank. */

import { randomBytes } from 'node:crypto';
import type { Bath } from '../chemistry/model.ts';
import type { Material } from '../piece/material.ts';
import type { Plan, PlanRequest } from '../run/model.ts';
import { planRun } from '../run/plan.ts';
import { isFinal } from '../run/state.ts';
import { bathInTank, type AdoptedEntry, type StoreWriter } from '../store/door.ts';
import { type Command, type CommandAnswer } from '../wire/command.ts';
import { checklistItems } from '../wire/checklist.ts';
import type { Alarm, RunRecord } from '../wire/run.ts';
import { refusal, type Refusal } from './refusal.ts';
import { maxSilenceMsFor } from './timing.ts';
import type { Tank } from './tank.ts';

interface ArmingParts {
  readonly baths: readonly Bath[];
  /** Reads the table that materials are judged by; throws for a file that is none. */
  readonly materials: () => readonly Material[];
  readonly store: StoreWriter;
}

interface ArmedWith {
  readonly checklist: readonly string[];
  /** The run that is carried on; null for a new one. */
  readonly carried: RunRecord | null;
}

interface ArmedAs extends ArmedWith {
  /** Efficiencies that were taken over from weigh-ins; the page has planned with them too. */
  readonly adopted: readonly AdoptedEntry[];
}

export class ArmingDesk {
  readonly #parts: ArmingParts;

  constructor(parts: ArmingParts) {
    this.#parts = parts;
  }

  async arm(tank: Tank, command: Extract<Command, { kind: 'arm' }>): Promise<CommandAnswer> {
    const missing = checklistItems.filter((item) => !command.checklist.includes(item.id));
    if (missing.length > 0) {
      return {
        ...refusal('invalid', 'The checklist is not complete.'),
        problems: missing.map((item) => ({
          field: `checklist.${item.id}`,
          value: 'not confirmed',
          bound: 'confirmed',
          message: item.text,
        })),
      };
    }
    const carried =
      command.continues === null ? null : await this.#carried(tank, command.continues);
    if (carried !== null && 'code' in carried) return carried;
    const { plan, checklist } = command;
    const adopted = await this.#parts.store.ledger.adopted();
    return this.armPlan(tank, plan, { checklist, carried, adopted }, null);
  }

  armPlan(
    tank: Tank,
    request: PlanRequest,
    { checklist, carried, adopted }: ArmedAs,
    onReady: (() => void) | null,
  ): CommandAnswer {
    const busy = busyReason(tank);
    if (busy !== null) return busy;
    const carriedAmpHours = carried?.ampHours ?? 0;
    const planned = this.#plan(tank, request, carriedAmpHours, adopted);
    if ('ok' in planned) return planned;
    if (carriedAmpHours >= planned.targetChargeAmpHours) {
      return refusal('refused', 'The run to carry on from has passed this target already.');
    }
    const record = newRecord(tank, planned, { checklist, carried });
    const refused = tank.adopt(record, onReady);
    if (refused !== null) return refusal('refused', refused);
    return { ok: true, runId: record.id, version: tank.run?.state.version ?? 0 };
  }

  /** The table where it is asked for: one that cannot be read holds back no piece without materials. */
  #materialsFor({ piece }: PlanRequest): readonly Material[] | Refusal {
    if ((piece.materials ?? []).length === 0) return [];
    try {
      return this.#parts.materials();
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      return refusal('invalid', `The materials of the piece cannot be judged. ${reason}`);
    }
  }

  #plan(
    tank: Tank,
    request: PlanRequest,
    carriedAmpHours: number,
    adopted: readonly AdoptedEntry[],
  ): Plan | Refusal {
    if (request.tankId !== tank.id) {
      return refusal('invalid', `The plan is for tank "${request.tankId}", not "${tank.id}".`);
    }
    const bath = this.#parts.baths.find((one) => one.id === request.bathId);
    if (bath === undefined) {
      const known = this.#parts.baths.map((one) => one.id).join(', ');
      return {
        ...refusal('invalid', `There is no bath "${request.bathId}".`),
        problems: [
          {
            field: 'bathId',
            value: request.bathId,
            bound: known,
            message: `There is no bath "${request.bathId}". Known baths: ${known}.`,
          },
        ],
      };
    }
    const materials = this.#materialsFor(request);
    if ('ok' in materials) return materials;
    const result = planRun(atThisHour(request), bathInTank(bath, tank.id, adopted), tank.facts, {
      nowWallMs: tank.clock.wallMs(),
      carriedAmpHours,
      materials,
    });
    if (!result.ok) {
      return { ...refusal('invalid', 'The plan has errors.'), problems: [...result.problems] };
    }
    const refusing = result.plan.notices.filter((notice) => notice.severity === 'refuse');
    if (refusing.length > 0) {
      return {
        ...refusal('refused', refusing[0]?.message ?? 'The plan is refused.'),
        problems: refusing.map(({ field, value, bound, message, remedy }) => ({
          field,
          value,
          bound,
          message: `${message} ${remedy}`,
        })),
      };
    }
    // The silence that is borne grows with a slow supply's cycle.
    const limits = { ...result.plan.limits, maxSilenceMs: maxSilenceMsFor(tank.cycleMs) };
    return { ...result.plan, limits };
  }

  async #carried(tank: Tank, runId: string): Promise<RunRecord | Refusal> {
    const record = await this.#parts.store.run(runId);
    if (record === null) return refusal('notFound', 'The run to carry on from is not in the log.');
    if (record.kind === 'probe') return refusal('refused', 'A check cannot be carried on.');
    if (record.tankId !== tank.id) {
      return refusal('refused', 'The run to carry on from was on another tank.');
    }
    if (!isFinal(record.lifecycle)) {
      return refusal('refused', 'The run to carry on from is not over.');
    }
    const next = await this.#parts.store.continuedBy(runId);
    if (next !== null) {
      return refusal(
        'refused',
        `Run ${next} carries this one on already; its charge would count twice. Carry on from that one.`,
      );
    }
    return record;
  }
}

/** A plan by the clock is solved from the hour of arming, not from the one at which a page asked. */
function atThisHour(request: PlanRequest): PlanRequest {
  const { target } = request;
  if (target.kind !== 'done-by') return request;
  const { nowWallMs: _, ...rest } = target;
  return { ...request, target: rest };
}

/** A tank takes one run at a time, over a line that answers, from an output that is known to be off. */
export function busyReason(tank: Tank): Refusal | null {
  const lifecycle = tank.run?.state.lifecycle;
  if (lifecycle !== undefined && !isFinal(lifecycle)) {
    return refusal('busy', 'A run is on this tank already.');
  }
  if (!tank.link.connected) {
    return refusal('unavailable', `The supply does not answer. ${tank.link.message}`);
  }
  if (tank.output !== 'confirmedOff') {
    return refusal(
      'refused',
      'The output of the supply is not confirmed off. Switch it off first.',
    );
  }
  if (tank.alarms.standing.some(isInTheWay)) {
    return refusal('refused', 'An alarm on this tank is not acknowledged yet.');
  }
  return null;
}

/**
 * An alarm that somebody has to take on before the next run: a run was stopped, or a damaged log may
 * have lost the one that said so.
 */
function isInTheWay({ priority, code }: Alarm): boolean {
  return priority === 'stopped' || code === 'databaseDamaged';
}

/** The document of a run, or of a probe, that is about to be armed. */
export function newRecord(tank: Tank, plan: Plan, { checklist, carried }: ArmedWith): RunRecord {
  const armedWallMs = tank.clock.wallMs();
  const day = new Date(armedWallMs).toISOString().slice(0, 10);
  const carriedAmpHours = carried?.ampHours ?? 0;
  // The record is a document of its own: nothing in it may change with the plan's parts later.
  return structuredClone({
    id: `${day}-${tank.id}-${randomBytes(3).toString('hex')}`.slice(0, 64),
    kind: plan.probe == null ? 'run' : 'probe',
    tankId: tank.id,
    continues: carried?.id ?? null,
    carriedAmpHours,
    simulated: tank.simulated,
    plan: plan as RunRecord['plan'],
    checklist: [...checklist],
    armedWallMs,
    startedWallMs: null,
    clocks: tank.clock.bootClocks(),
    endedWallMs: null,
    lifecycle: 'armed',
    offConfirmed: false,
    outcome: null,
    ampHours: carriedAmpHours,
    lowAmpHours: carried?.lowAmpHours ?? 0,
    highAmpHours: carried?.highAmpHours ?? 0,
    chargeSeen: null,
    thicknessMicrometres: carried?.thicknessMicrometres ?? 0,
  });
}

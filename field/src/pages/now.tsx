/** What comes now in a call: a danger, a question, a step, the way to the house, the summary. */

import { desk } from "../app/desk.ts";
import { DANGER, LEAVE_ID } from "../engine/ending.ts";
import type { Guide } from "../engine/guide.ts";
import type { Step } from "../engine/situation.ts";
import { openedOf } from "../trail/state.ts";
import { DangerStands, DangersAsked, areDangersOwed, dangersNow, isGoing } from "./dangers.tsx";
import { Outlook } from "./outlook.tsx";
import { CheckStep, HandOverStep, LeaveStep, ProofStep, RepairStep } from "./steps.tsx";
import { Tools } from "./step_frame.tsx";
import { SummaryPage } from "./summary.tsx";
import { ConflictNotice, QuestionedReadings } from "./why.tsx";

export function NowPage({ guide }: { readonly guide: Guide }) {
  if (guide.phase === "closed") return <SummaryPage guide={guide} />;
  const { state, data } = guide;
  const dangers = dangersNow(state, guide.dangers);
  if (dangers.length > 0) {
    return (
      <>
        <DangerStands state={state} data={data} dangers={dangers} />
        <Tools guide={guide} stepId="" />
      </>
    );
  }
  if (areDangersOwed(state)) return <DangersAsked data={data} />;
  const step = guide.plan.steps[0]!;
  if (guide.phase === "phone") {
    return (
      <div class="contents" data-kind={step.kind} data-step={step.target} key={step.target}>
        <PhoneStep guide={guide} step={step} />
      </div>
    );
  }
  return (
    <div class="contents" data-kind={step.kind} data-step={step.target} key={step.target}>
      <QuestionedReadings guide={guide} />
      <ConflictNotice guide={guide} />
      <VisitStep guide={guide} step={step} />
    </div>
  );
}

function PhoneStep({ guide, step }: { readonly guide: Guide; readonly step: Step }) {
  if (isGoing(guide.state)) return <Outlook guide={guide} />;
  const enough = openedOf(guide.state).site["phone_done"] === true;
  if (step.kind === "ask" && !enough) {
    return (
      <>
        <CheckStep guide={guide} step={step} />
        <button
          type="button"
          onClick={() => void desk.say("call_opened", { site: { phone_done: true } })}
        >
          Enough asked: what to take along
        </button>
      </>
    );
  }
  if (step.kind === "repair") return <RepairStep guide={guide} step={step} />;
  if (step.kind === "prove") return <ProofStep guide={guide} step={step} />;
  return <Outlook guide={guide} />;
}

function VisitStep({ guide, step }: { readonly guide: Guide; readonly step: Step }) {
  switch (step.kind) {
    case "ask":
    case "look":
    case "measure":
      return <CheckStep guide={guide} step={step} />;
    case "prove":
      return <ProofStep guide={guide} step={step} />;
    case "repair":
      return <RepairStep guide={guide} step={step} />;
    default:
      if (step.target !== LEAVE_ID && step.target !== DANGER) {
        return <HandOverStep guide={guide} step={step} />;
      }
      return <LeaveStep guide={guide} step={step} />;
  }
}

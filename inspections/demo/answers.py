"""The proposals that the engineer has answered by the demo's last day: one each way."""

from datetime import datetime

from fleet import clock
from fleet.actions import proposals
from fleet.models import IntervalDecision, Obligation, Proposal, User
from inspections.demo.people import ENGINEER

ACCEPTED, DECLINED = "TRV-4107", "TRV-1002"
INTERVAL = "P5Y"
WHY_SHORTER = "Opened 5.8 % low; five years instead of ten until a test shows that it holds."
WHY_AS_IT_IS = "Cooling water, and a spring that relaxed in seven years: as left, ten years stand."


def answer_proposals(*, at: datetime) -> None:
    engineer = User.objects.get(name=ENGINEER)
    accepted = Proposal.objects.get(position__tag=ACCEPTED)
    owed = Obligation.objects.get(position=accepted.position, activity="bench_test")
    decision = IntervalDecision(
        obligation=owed, from_on=clock.day_of(at), interval=INTERVAL, reason=WHY_SHORTER
    )
    proposals.accept(accepted, decision, by=engineer, at=at)
    declined = Proposal.objects.get(position__tag=DECLINED)
    proposals.decline(declined, WHY_AS_IT_IS, by=engineer, at=at)

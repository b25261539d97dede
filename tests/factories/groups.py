"""What is sampled in a group."""

from factory import LazyAttribute, SubFactory

from tests.factories.fleet import IntervalRuleFactory, ObligationFactory


class SampleRuleFactory(IntervalRuleFactory):
    """A fifth of a group in any 24 months, each within 5 years, two more after a failure."""

    kind = "group_sample"
    parameters = LazyAttribute(
        lambda _: {
            "fraction": "0.20",
            "window": "P24M",
            "gap": "P5Y",
            "expansion": 2,
            "band": "3 %",
        }
    )


class SampledFactory(ObligationFactory):
    rule = SubFactory(SampleRuleFactory)
    group = "Main steam"

"""Numbers for a monitoring system, whatever the site is called."""

from __future__ import annotations

import pytest
from prometheus_client.parser import text_string_to_metric_families

from reconcile.findings import Kind, Severity
from reconcile.history.night import Night
from reconcile.reports.metrics import render
from tests.nasty import NASTY
from tests.reconcile.handmade import TAKEN, everything


@pytest.mark.parametrize("name", ["", "Saltmarsh Field Station", *NASTY])
def test_any_name_of_a_site_gives_lines_that_the_reference_parser_reads(name: str) -> None:
    """prometheus_client.parser is by the authors of the format. It takes LF alone for the end of a line."""
    text = render(Night(site=name, run=1, taken=TAKEN), everything())
    text.encode()
    samples = [sample for family in text_string_to_metric_families(text) for sample in family.samples]
    assert len(samples) == sum(not line.startswith("#") for line in text.split("\n") if line)
    assert {sample.labels["site"] for sample in samples} == {name.encode("utf-8", "replace").decode()}


def test_every_kind_and_severity_is_there_so_that_an_alert_never_lacks_its_series() -> None:
    families = {f.name: f for f in text_string_to_metric_families(render(Night(run=1, taken=TAKEN), everything()))}
    assert len(families["toneout_findings"].samples) == len(Kind) * len(Severity)
    assert sum(sample.value for sample in families["toneout_findings"].samples) == 2
    assert families["toneout_gaps"].samples[0].value == 3

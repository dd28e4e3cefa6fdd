"""Tells people of what is new, through whatever the apprise library can reach: e-mail, chat, telephone."""

from __future__ import annotations

import logging
from collections.abc import Iterable

from reconcile.errors import UsageError
from reconcile.history.night import Night
from reconcile.reports.escape import sentence, visible
from reconcile.reports.night import summary
from reconcile.reports.words import place_words

_MOST = 20
"""Findings named in a message: a telephone shows few lines."""


def notify(addresses: Iterable[str], night: Night) -> bool:
    """Sends what is new to every address; True when all took it. A night with nothing new sends nothing.

    Addresses hold passwords, so no message of ours names one. Raises UsageError when apprise is not installed or
    does not understand an address.
    """
    targets = list(addresses)
    if not targets or not night.new:
        return True
    try:
        import apprise
    except ImportError:
        raise UsageError("notify", "needs the apprise library", "pip install 'toneout[notify]'") from None
    for name in ("apprise", "requests", "urllib3"):
        logging.getLogger(name).setLevel(logging.CRITICAL)  # they log addresses with what is secret in them
    # Told names are a stranger's text: apprise shall neither expand emoji nor read escapes in it.
    sender = apprise.Apprise(asset=apprise.AppriseAsset(interpret_emojis=False, interpret_escapes=False))
    for number, address in enumerate(targets, 1):
        if not sender.add(address):
            hint = "an address as the documentation of apprise has it, such as mailto://..."
            raise UsageError(f"notify address {number}", "is none that apprise understands", hint)
    return bool(sender.notify(body=body(night), title=title(night), body_format=apprise.NotifyFormat.TEXT))


def title(night: Night) -> str:
    """`Saltmarsh Field Station: 2 new; 7 still there`."""
    return visible(f"{night.site or 'toneout'}: {summary(night)}")


def body(night: Night) -> str:
    """A line per new finding, or per story that explains some."""
    told = {key for cause in night.causes for key in cause.findings}
    lines = [cause.story for cause in night.causes]
    lines += [f"{f.kind.value}: {f.device} {place_words(f.where)}" for f in night.new if f.key not in told]
    more = [f"and {len(lines) - _MOST} more"] if len(lines) > _MOST else []
    return "\n".join(sentence(line) for line in (*lines[:_MOST], *more))

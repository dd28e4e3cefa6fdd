"""Tells people of what is new, through whatever the apprise library can reach: e-mail, chat, telephone."""

from __future__ import annotations

import logging
from collections.abc import Sequence

from reconcile.errors import UsageError
from reconcile.history.night import Night
from reconcile.reports.escape import sentence, visible
from reconcile.reports.night import summary
from reconcile.reports.words import place_words

_MOST = 20
"""Findings named in a message: a telephone shows few lines."""


class Messenger:
    """Everybody who is to be told.

    Addresses hold passwords, so no message of ours names one. Raises UsageError when apprise is not installed or
    does not understand an address: a wrong one is found before the night's work, not in the night of the news.
    """

    def __init__(self, addresses: Sequence[str]) -> None:
        try:
            import apprise
        except ImportError:
            raise UsageError("notify", "needs the apprise library", "pip install 'toneout[notify]'") from None
        for name in ("apprise", "requests", "urllib3"):
            logging.getLogger(name).setLevel(logging.CRITICAL)  # they log addresses with what is secret in them
        # Told names are a stranger's text: apprise shall neither expand emoji nor read escapes in it.
        self._sender = apprise.Apprise(asset=apprise.AppriseAsset(interpret_emojis=False, interpret_escapes=False))
        self._format = apprise.NotifyFormat.TEXT
        for number, address in enumerate(addresses, 1):
            if not self._sender.add(address):
                hint = "an address as the documentation of apprise has it, such as mailto://..."
                raise UsageError(f"notify address {number}", "is none that apprise understands", hint)

    def tell(self, night: Night) -> bool:
        """Sends what is new; True when every address took it. A night with nothing new sends nothing."""
        if not night.new:
            return True
        return bool(self._sender.notify(body=body(night), title=title(night), body_format=self._format))


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

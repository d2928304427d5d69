"""A shape for every state, so that it is told apart without colour. The word always stands beside it."""

from __future__ import annotations

SHAPES = {
    # due work: the fuller, the later
    "not open": "○",
    "open": "◔",
    "due": "◑",
    "late": "◕",
    "overdue": "●",
    # orders: the further, the fuller
    "raised": "▱",
    "prepared": "◫",
    "slotted": "◧",
    "under way": "◩",
    "finished": "■",
    "accepted": "✓",
    "withdrawn": "×",
    # the morning
    "go": "▲",
    "wait": "◆",
    "no-go": "■",
    # runs and plans
    "queued": "○",
    "solving": "◔",
    "done": "✓",
    "stopped": "◧",
    "infeasible": "×",
    "failed": "×",
    "lost": "×",
    "draft": "▱",
    "published": "✓",
    "superseded": "×",
    "thrown away": "×",
}


def mark(state: str) -> dict[str, str]:
    """What the template needs to show a state: its word, its shape and a class for its tint."""
    return {"word": state, "shape": SHAPES.get(state, "·"), "tint": state.replace(" ", "-")}

"""The bottom line: the keys that hold here, each to be pressed or clicked. One widget, redrawn when the keys change."""

from __future__ import annotations

from typing import ClassVar

from rich.cells import cell_len
from textual import events
from textual.app import RenderResult
from textual.screen import Screen
from textual.widget import Widget

from bathkeeper.tui.plain import join

PALETTE = "^p all"


class KeyLine(Widget):
    """Shows the bindings that want to be shown, in their order, as many as there is room for; the palette at the right."""

    NAMES: ClassVar[dict[str, str]] = {
        "enter": "⏎", "escape": "Esc", "question_mark": "?",
        **{f"f{n}": f"F{n}" for n in range(1, 13)},
    }

    def __init__(self) -> None:
        super().__init__()
        self._places: list[tuple[int, int, str]] = []

    def on_mount(self) -> None:
        self.screen.bindings_updated_signal.subscribe(self, self._changed)

    def _changed(self, _: Screen[object]) -> None:
        self.refresh()

    def render(self) -> RenderResult:
        parts: list[tuple[str, str]] = []
        self._places = []
        room, x = self.size.width - len(PALETTE) - 1, 1
        parts.append((" ", ""))
        seen: set[str] = set()
        for node, binding, enabled, _ in self.screen.active_bindings.values():
            if not binding.show or not enabled or binding.action in seen or binding.system:
                continue
            seen.add(binding.action)
            key = binding.key_display or self.NAMES.get(binding.key, binding.key)
            width = cell_len(key) + 1 + cell_len(binding.description)
            if x + width + 2 > room:
                break
            parts += [(key, "bold $text-accent"), (f" {binding.description}  ", "")]
            namespace = "app" if node is self.app else "screen" if node is self.screen else "focused"
            self._places.append((x, x + width, f"{namespace}:{binding.action}"))
            x += width + 2
        parts.append((" " * max(room - x, 0), ""))
        parts.append((PALETTE, "$foreground-muted"))
        self._places.append((room, self.size.width, "app:command_palette"))
        return join(parts)

    async def on_click(self, event: events.Click) -> None:
        """Does what the key under the pointer would do."""
        found = next((action for left, right, action in self._places if left <= event.x < right), None)
        if found is None:
            return
        namespace, _, action = found.partition(":")
        node = {"app": self.app, "screen": self.screen}.get(namespace, self.screen.focused)
        if action.startswith(("app.", "screen.")):
            node = self.app if action.startswith("app.") else self.screen
            action = action.partition(".")[2]
        await self.app.run_action(action, default_namespace=node or self.screen)

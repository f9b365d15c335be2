"""The tree of objects that a D-Bus service shows, with a signal for every change of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final, TypeAlias

from dbus_fast import Message, Variant

OBJECT_MANAGER: Final = "org.freedesktop.DBus.ObjectManager"
PROPERTIES: Final = "org.freedesktop.DBus.Properties"

Properties: TypeAlias = Mapping[str, tuple[str, Any]]
"""Values with their D-Bus types, by name."""


class ObjectTree:
    """Paths with interfaces with properties; told about through ``send``."""

    def __init__(self, send: Callable[[Message], object]) -> None:
        self._send = send
        self._objects: dict[str, dict[str, dict[str, Variant]]] = {}

    def __contains__(self, path: str) -> bool:
        return path in self._objects

    @property
    def managed(self) -> dict[str, dict[str, dict[str, Variant]]]:
        """All of it, as ``GetManagedObjects`` answers."""
        return self._objects

    def add(self, path: str, interface: str, properties: Properties) -> None:
        """Show an object, which must be new."""
        self._objects[path] = {interface: _variants(properties)}
        body = [path, self._objects[path]]
        self._send(Message.new_signal("/", OBJECT_MANAGER, "InterfacesAdded", "oa{sa{sv}}", body))

    def remove(self, path: str) -> None:
        """Show an object and all below it no longer; nothing when it is not there."""
        below = [other for other in self._objects if other.startswith(f"{path}/")]
        for gone in (*reversed(below), path):
            if interfaces := self._objects.pop(gone, None):
                body = [gone, list(interfaces)]
                self._send(
                    Message.new_signal("/", OBJECT_MANAGER, "InterfacesRemoved", "oas", body)
                )

    def change(self, path: str, interface: str, properties: Properties) -> None:
        """Give properties of an object new values; nothing when it is not there."""
        if path not in self._objects:
            return
        changed = _variants(properties)
        self._objects[path][interface].update(changed)
        body = [interface, changed, []]
        self._send(Message.new_signal(path, PROPERTIES, "PropertiesChanged", "sa{sv}as", body))


def _variants(properties: Properties) -> dict[str, Variant]:
    return {name: Variant(kind, value) for name, (kind, value) in properties.items()}

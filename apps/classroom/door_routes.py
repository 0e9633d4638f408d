"""Posts that give a right: to a new room for who opens it, to a place in it, to lead it or show its wall, to a room left open."""

from __future__ import annotations

from typing import Any

from tornado.ioloop import IOLoop

from graspwave.apps.classroom import room as moves
from graspwave.apps.classroom.base import Post
from graspwave.apps.classroom.codes import clean_code, clean_invitation
from graspwave.apps.classroom.network import this_machine
from graspwave.apps.classroom.store import Closed, Shut

__all__ = ["Join", "Lead", "Open", "Rooms"]


class Open(Post):
    """A room is opened, for whoever has this server's key."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services = self.services
        # a wrong key costs nobody anything: it cannot be guessed, and the right one must open the door at any time
        if not services.gate.key_fits(body.get("key")):
            return self.refuse(403, "That is not this server's key.")
        if self.limited("open", self.address):
            return None
        slug = body.get("lesson")
        lesson = await services.lesson(IOLoop.current().asyncio_loop, slug) if isinstance(slug, str) else None  # type: ignore[attr-defined]
        if lesson is None:
            return self.refuse(404, "There is no such lesson.")
        brief, host = body.get("short") is True, body.get("address")
        address = host if host in {way["host"] for way in self.own_ways()} else ""
        code, token = await services.writer.submit(
            lambda c: services.store.open_room(c, lesson, services.settings.keep_s, brief=brief, address=address))
        return self.json({"code": code, "token": token, "control": f"/room/{code}/control", "wall": f"/room/{code}/wall"})


class Join(Post):
    """A place in a room, for whoever has its code."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services, code = self.services, given[0]
        # asked alike of right and wrong codes, so that the price tells nothing; who pays is never refused a right one
        if (bits := services.gate.price(self.address)) and not services.gate.proofs.paid(code, body.get("proof"), bits):
            return self.refuse(428, "One moment: many are joining.", again=True, proof=services.gate.proofs.text(code, bits))
        services.gate.take("join", self.address)  # before anything is waited for: many asked at once are many
        if not await services.reader.ask(services.store.exists, code):
            services.gate.give("join", self.address)
            services.gate.take("wrong", self.address)
            return self.refuse(404, "No room has this code.")
        try:
            token, handle = await services.writer.submit(lambda c: services.store.join(c, code), room=code)
        except Shut as why:
            return self.refuse(409, str(why), again=True)
        except Closed as why:
            return self.refuse(410, str(why))
        if not this_machine(self.request.remote_ip or ""):
            await services.writer.submit(lambda c: services.store.change(c, code, moves.arrived))
        services.hub.changed(code)
        return self.json({"token": token, "handle": handle})


class Lead(Post):
    """An invitation, typed or brought behind the sign of a link, becomes a right to lead a room or to show its wall."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services = self.services
        if not services.gate.may_try(self.address):
            self.set_header("Retry-After", "6")
            return self.refuse(429, "Too many wrong codes from this network. Wait a few seconds.", again=True)
        services.gate.take("wrong", self.address)  # until it is known to be right: many tried at once are many
        words = clean_invitation(body.get("words"))
        found = None if words is None else await services.writer.submit(lambda c: services.store.redeem(c, words))
        if found is None:
            return self.refuse(404, "That is no code to lead with, or it was used, or it is older than ten minutes.")
        services.gate.give("wrong", self.address)
        room, role, token = found
        return self.json({"room": room, "role": role, "token": token, "page": f"/room/{room}/{role}"})


class Rooms(Post):
    """The rooms of this machine, for whoever may open one here; with a code, the right to lead that one again."""

    async def act(self, body: dict[str, Any], *given: str) -> None:
        services = self.services
        if self.limited("open", self.address):
            return None
        if not services.gate.key_fits(body.get("key")):
            return self.refuse(403, "That is not this server's key.")
        code = clean_code(body.get("code"))
        if code is not None:
            if not await services.reader.ask(services.store.exists, code):
                return self.refuse(404, "This room is closed.")
            return self.json({"token": await services.writer.submit(lambda c: services.store.entitle(c, code, "control"))})
        rooms = await services.reader.ask(services.store.list_rooms)
        return self.json({"rooms": [
            {name: room[name] for name in ("code", "slug", "opened", "ended", "joined")} for room in reversed(rooms)]})

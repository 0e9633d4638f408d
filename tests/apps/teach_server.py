"""Serves lessons and rooms with the small lesson of `teach_lesson`: ``teach_server.py STORE [KEY]``; says where on one line."""

from __future__ import annotations

import asyncio
import sys
from types import SimpleNamespace

import tornado.httpserver
import tornado.netutil
from teach_lesson import LESSON, Lessons

from graspwave.apps.classroom.server import room_application
from graspwave.apps.classroom.services import Settings, make_services
from graspwave.apps.teach import pages


async def main() -> None:
    row = {**{key: LESSON[key] for key in ("slug", "title", "minutes", "for")}, "line": LESSON["objectives"][0]}
    own = SimpleNamespace(**{name: getattr(pages, name) for name in pages.__all__})
    own.lessons_page = lambda **more: pages.lessons_page([row], **more)
    settings = Settings(store=sys.argv[1], key=sys.argv[2] if len(sys.argv) > 2 else None)
    services = make_services(settings, lessons=Lessons(), pages=own)
    server = tornado.httpserver.HTTPServer(room_application(services))
    sockets = tornado.netutil.bind_sockets(0, "127.0.0.1")
    server.add_sockets(sockets)
    services.start()
    sys.stdout.write(f"http://127.0.0.1:{sockets[0].getsockname()[1]}/teach\n")
    sys.stdout.flush()
    await asyncio.Event().wait()


asyncio.run(main())

"""A door to a server that can be shut: `python -m tests.operations.forwarder FROM_PORT TO_PORT`.

Killing it is to those in front of it as if the server were gone, while what the server keeps in
memory stays.
"""

import asyncio
import contextlib
import sys


async def _pump(source: asyncio.StreamReader, target: asyncio.StreamWriter) -> None:
    with contextlib.suppress(OSError):
        while data := await source.read(65536):
            target.write(data)
            await target.drain()
    target.close()


async def main(listen: int, to: int) -> None:
    async def joined(reader, writer):
        try:
            far_reader, far_writer = await asyncio.open_connection("127.0.0.1", to)
        except OSError:
            writer.close()
            return
        await asyncio.gather(_pump(reader, far_writer), _pump(far_reader, writer))

    server = await asyncio.start_server(joined, "127.0.0.1", listen)
    async with server:
        await server.serve_forever()


if __name__ == "__main__":
    asyncio.run(main(int(sys.argv[1]), int(sys.argv[2])))

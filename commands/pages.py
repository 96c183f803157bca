"""Where the page is: the options of all commands that serve it or let someone in."""

import argparse
import asyncio
from dataclasses import dataclass
from pathlib import Path

from ingest.wire.messages import BrokerAddress

_LOOKS_AGAIN_S = 0.1


def page_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that say which page it is, and where."""
    parser.add_argument("--data-directory", type=Path, help="where the page keeps its secret")
    relay = "an address from which a relay that ends TLS passes requests on; may be given again"
    parser.add_argument("--relay", action="append", default=[], help=relay)
    place_options(parser)


def place_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that say where the page listens."""
    parser.add_argument("--host", default="127.0.0.1", help="the address to listen on")
    parser.add_argument("--port", type=int, default=8050, help="of the page")
    parser.add_argument("--certificate", type=Path, help="TLS certificate; needed beyond this machine")
    parser.add_argument("--key", type=Path, help="the certificate's key")
    parser.add_argument("--public-name", default="", help="the host name in links, where it is not this machine's")


def data_directory(options: argparse.Namespace) -> Path:
    """Give the folder of the page's secret; makes it where there is none."""
    from platformdirs import user_data_path

    directory: Path = options.data_directory or user_data_path("dewline")
    directory.mkdir(parents=True, exist_ok=True)
    return directory


@dataclass(frozen=True, slots=True)
class BenchPage:
    """The command that serves the page of a bench, and what to say of it once it answers there."""

    arguments: list[str]
    host: str
    port: int
    says: str

    async def tell_once_it_answers(self) -> None:
        """Say where to open it, once it can be opened: a link that answers nothing is taken for a broken one."""
        host = "127.0.0.1" if self.host in ("0.0.0.0", "::") else self.host  # noqa: S104 - nothing listens here
        while True:
            try:
                _, writer = await asyncio.open_connection(host, self.port)
            except OSError:
                await asyncio.sleep(_LOOKS_AGAIN_S)
                continue
            writer.close()
            print(self.says, flush=True)
            return


def bench_page(options: argparse.Namespace, directory: Path, broker: BrokerAddress) -> BenchPage:
    """Give the command that serves the page, and where to open it: beyond this machine by the door only."""
    from dashboard.auth import make_invitation
    from dashboard.own_certificate import fingerprint, own_certificate
    from dashboard.settings import PagePlace, is_loopback

    page = ["dashboard", "--broker", f"mqtt://{broker.host}:{broker.port}", "--data-directory", str(directory)]
    page += ["--host", options.host, "--port", str(options.port), "--public-name", options.public_name]
    page += ["--name", options.name]
    if is_loopback(options.host):
        place = PagePlace(data_directory=directory, host=options.host, port=options.port)
        here = f"The page: http://{options.host}:{options.port} (stop with Ctrl-C)"
        lead = f"A lead on this machine opens, once:\n  {make_invitation(place, 'lead')}"
        return BenchPage(page, options.host, options.port, f"{here}\n{lead}")
    certificate, key = options.certificate, options.key
    if certificate is None:
        certificate, key = own_certificate(directory.parent / "certificates", options.public_name or options.host)
        print(f"The page's certificate is its own: the browser warns once. Its SHA-256: {fingerprint(certificate)}")
    place = PagePlace(
        data_directory=directory,
        host=options.host,
        port=options.port,
        certificate=certificate,
        public_name=options.public_name,
    )
    here = f"Open this once on the tablet, within a day:\n  {make_invitation(place, 'technician')}"
    lead = f"A lead opens, once:\n  {make_invitation(place, 'lead')}"
    page += ["--certificate", str(certificate), "--key", str(key)]
    return BenchPage(page, options.host, options.port, f"{here}\n{lead}")

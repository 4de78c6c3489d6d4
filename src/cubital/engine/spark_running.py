"""One Spark per process: started when it is first asked for, quiet, and with nothing on the network that need not be.

Spark itself is an extra. What it writes for a moment (spilled rows, its log) goes into a scratch folder of this user.
"""

from __future__ import annotations

import atexit
import importlib.util
import logging
import os
import re
import shutil
import sys
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cubital.domain.errors import MachineProblem
from cubital.domain.scratch import ScratchFolder
from cubital.domain.words import _

MINIMAL_JAVA = 17
DEFAULT_DRIVER_MEMORY = "1g"
LOCAL_PARTITIONS = 32  # at most so many parts of a shuffle on one machine; small ones are put together at run time
LOG = "spark.log"
_LOCAL = re.compile(r"local(-cluster)?(\[[\d*, ]+\])?")


@dataclass
class _Running:
    master: str
    settings: Mapping[str, str]
    session: Any
    gateway: Any
    scratch: ScratchFolder


_running: _Running | None = None


def start_spark(master: str, *, settings: Mapping[str, str] | None = None) -> Any:
    """The ``SparkSession`` of this process at ``master``; another one that was running is ended first.

    ``settings`` are Spark's own and win over what is set here. Raises ``MachineProblem`` where Spark, its translator or
    a Java runtime is missing, or where Spark does not start.
    """
    global _running  # noqa: PLW0603 - a process has one Java machine, whoever asks
    wanted = dict(settings or {})
    if _running and (_running.master, _running.settings) == (master, wanted):
        return _running.session
    check_spark()
    stop_spark()
    scratch = ScratchFolder()
    whole = {**_settings(master, scratch.folder), **wanted}
    gateway, session = _launch(master, whole, log=scratch.folder / LOG)
    _running = _Running(master, wanted, session, gateway, scratch)
    return session


def stop_spark() -> None:
    """Ends the Spark of this process, its Java machine with it; nothing where none runs."""
    global _running
    if _running is None:
        return
    ended, _running = _running, None
    ended.session.stop()
    _end_gateway(ended.gateway)
    ended.scratch.close()


atexit.register(stop_spark)


def check_spark() -> None:
    """Raises ``MachineProblem`` in one sentence where something that Spark needs is not on this machine."""
    missing = [name for name in ("pyspark", "sqlglot") if importlib.util.find_spec(name) is None]
    if missing:
        raise MachineProblem(
            _("Spark is not installed ({names} missing).").format(names=", ".join(missing)),
            fix=_("Install the extra: pip install 'cubital[spark]'."),
        )
    if find_java() is None:
        raise MachineProblem(
            _("Spark needs a Java runtime, and there is none on this computer."),
            fix=_("Install Java {version} or newer (Debian: openjdk-17-jre-headless) or set JAVA_HOME.").format(
                version=MINIMAL_JAVA
            ),
        )


def find_java() -> Path | None:
    """The Java runtime that Spark would start: of ``JAVA_HOME``, else on the path."""
    home = os.environ.get("JAVA_HOME")
    found = shutil.which("java", path=str(Path(home) / "bin")) if home else shutil.which("java")
    return Path(found) if found else None


def java_process() -> int | None:
    """The process number of the Java machine, for who measures it; none where none runs."""
    return _running.gateway.proc.pid if _running else None


def _settings(master: str, scratch: Path) -> dict[str, str]:
    found = {
        "spark.master": master,
        "spark.app.name": "cubital",
        "spark.ui.enabled": "false",
        "spark.ui.showConsoleProgress": "false",
        "spark.sql.session.timeZone": "UTC",
        "spark.sql.catalogImplementation": "in-memory",
        "spark.sql.warehouse.dir": (scratch / "warehouse").as_uri(),
        "spark.driver.memory": DEFAULT_DRIVER_MEMORY,
        "spark.driver.extraJavaOptions": f"-Djava.io.tmpdir={scratch} -Dderby.system.home={scratch}",
    }
    if _LOCAL.fullmatch(master):
        found |= {
            "spark.driver.bindAddress": "127.0.0.1",
            "spark.driver.host": "127.0.0.1",
            "spark.local.dir": str(scratch),
            "spark.sql.shuffle.partitions": str(LOCAL_PARTITIONS),
        }
    return found


def _launch(master: str, settings: Mapping[str, str], *, log: Path) -> tuple[Any, Any]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", FutureWarning)  # about a library of data frames that is not used here
        from py4j.protocol import Py4JError
        from pyspark import SparkConf, SparkContext
        from pyspark.errors import PySparkException
        from pyspark.java_gateway import launch_gateway
        from pyspark.sql import SparkSession

        # Spark tells of a failed statement twice: in the exception, and on the terminal.
        logging.getLogger("SQLQueryContextLogger").setLevel(logging.CRITICAL)
        os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
        conf = SparkConf(loadDefaults=False).setAll(list(settings.items()))
        gateway = None
        try:
            with log.open("wb") as stream:
                gateway = launch_gateway(conf, {"stdout": stream, "stderr": stream})  # type: ignore[no-untyped-call]
            context = SparkContext(gateway=gateway, conf=conf)
            context.setLogLevel("OFF")
            return gateway, SparkSession(context)
        except (PySparkException, Py4JError) as error:
            _end_gateway(gateway)
            raise MachineProblem(
                _("Spark did not start at {master} ({why}).").format(master=master, why=_why(error, log)),
                fix=_("Check the address, and that its Java is {version} or newer.").format(version=MINIMAL_JAVA),
            ) from error


def _end_gateway(gateway: Any) -> None:
    from pyspark import SparkContext

    SparkContext._gateway = SparkContext._jvm = None
    if gateway is not None:
        gateway.shutdown()
        gateway.proc.stdin.close()
        gateway.proc.wait()


def _why(error: Exception, log: Path) -> str:
    lines = [line.strip() for line in log.read_text(encoding="utf-8", errors="replace").splitlines() if line.strip()]
    told = [line for line in str(error).splitlines() if "Exception" in line] or lines[-1:] or [type(error).__name__]
    return told[0][:200]

"""The segments of a message as patients with their orders, in whatever order a sender puts specimen and results."""

from __future__ import annotations

from dataclasses import dataclass, field

from cubital.intake.hl7.splitting import Message, Segment

NO_SEGMENT: Segment = []


@dataclass(slots=True)
class Order:
    """One OBR with what belongs to it.

    ``shared`` are specimens in front of all orders, ``results_closed`` is true once a specimen followed the results:
    observations after it are about the specimen and are kept apart.
    """

    request: Segment
    patient: Segment
    visit: Segment
    shared: list[Segment]
    observations: list[Segment] = field(default_factory=list)
    own_specimens: list[Segment] = field(default_factory=list)
    about_specimen: list[Segment] = field(default_factory=list)
    results_closed: bool = False

    @property
    def specimens(self) -> list[Segment]:
        """The order's own specimens, else those in front of all orders of the message."""
        return self.own_specimens or self.shared


def read_orders(message: Message) -> list[Order]:
    """Every order of a message, in its order."""
    orders: list[Order] = []
    patient, visit = NO_SEGMENT, NO_SEGMENT
    shared: list[Segment] = []
    order: Order | None = None
    for segment in message.segments:
        name = segment[0]
        if name == "OBX":
            if order is not None:
                (order.about_specimen if order.results_closed else order.observations).append(segment)
        elif name == "OBR":
            order = Order(segment, patient, visit, shared)
            orders.append(order)
        elif name == "SPM":
            if order is None:
                shared.append(segment)
            else:
                order.own_specimens.append(segment)
                order.results_closed = bool(order.observations)
        elif name == "PID":
            patient, visit, order, shared = segment, NO_SEGMENT, None, []
        elif name == "PV1":
            visit = segment
    return orders

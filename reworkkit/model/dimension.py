"""What a value of board.toml must be, as marks for the validator: a quantity of one unit, a whole number."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from reworkkit.model.quantity import parse_quantity
from reworkkit.model.values import Quantity

if TYPE_CHECKING:
    from pydantic_core import CoreSchema


@dataclass(frozen=True, slots=True)
class Dimension:
    """The unit a value must carry and an example of writing it; read by the validator of the reader only."""

    unit: str
    example: str

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> "CoreSchema":
        """Return the schema that reads a quantity; the validator library is imported here and nowhere else."""
        from pydantic_core import PydanticCustomError, core_schema

        def read(written: object) -> Quantity:
            answer = self.read(written)
            if isinstance(answer, Quantity):
                return answer
            raise PydanticCustomError(answer, "{text}", {"text": _shown(written), **self._facts(written)})

        return core_schema.no_info_plain_validator_function(read)

    def read(self, written: object) -> Any:
        """Return the quantity, or the slug of what is wrong: `value-without-unit`, `value-unreadable`, `wrong-unit`.

        >>> Dimension("V", "12 V").read("5 V").value, Dimension("mm", "1.6 mm").read("1.6 V")
        (Decimal('5'), 'wrong-unit')
        """
        if isinstance(written, bool) or not isinstance(written, str | int | float):
            return "value-unreadable"
        anything = parse_quantity(str(written))
        if anything is not None and not anything.unit:
            return "value-without-unit"
        wanted = parse_quantity(str(written), self.unit)
        return wanted or ("wrong-unit" if anything else "value-unreadable")

    def _facts(self, written: object) -> dict[str, str]:
        found = parse_quantity(str(written))
        return {"unit": self.unit, "example": self.example, "found": found.unit if found else ""}


def _shown(written: object) -> str:
    return str(written).lower() if isinstance(written, bool) else str(written)


class WholeNumber:
    """A whole number and nothing that could pass for one; read by the validator of the reader only."""

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> "CoreSchema":
        """Return the schema that takes whole numbers only."""
        from pydantic_core import core_schema

        return core_schema.int_schema(strict=True)

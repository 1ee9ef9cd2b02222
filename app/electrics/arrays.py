"""numpy, loaded with the first sum that needs arrays: most pages compute nothing, and no start waits for it.

Every module of the sums says `from app.electrics.arrays import np` and not `import numpy as np`; to a type checker both are
numpy itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
else:
    Array = ArrayLike = Any  # only ever read in annotations

    class _Numpy:
        """Looks each name up in numpy once and keeps it: the second use costs what it costs with the module itself."""

        def __getattr__(self, name: str) -> Any:
            import numpy

            found = getattr(numpy, name)
            setattr(self, name, found)
            return found

    np = _Numpy()

__all__ = ["Array", "ArrayLike", "np"]

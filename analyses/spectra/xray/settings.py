"""What an X-ray spectrum was measured with: everything that its evaluation needs to be repeated."""

from dataclasses import asdict, dataclass
from typing import Any, Literal

Technique = Literal["xrf", "sem_edx"]
Atmosphere = Literal["air", "helium", "vacuum"]


@dataclass(frozen=True, slots=True)
class XraySettings:
    """`technique` 'xrf' (excited by photons) or 'sem_edx' (excited by electrons).

    `voltage_kv` of the tube or beam, 1 to 100; `anode` of the tube, an element's symbol, or empty;
    `path_mm` of the X-rays through the `atmosphere` between object and detector; `detector` 'Si' or
    'Ge', `thickness_mm` of its crystal; `window_um` of its beryllium window (a polymer window is
    about as clear as 0.5 µm); `fwhm_mn_ev` its resolution at Mn Kα, estimated from the spectrum
    when None; `scatter_angle_deg` between tube and detector, all angles from 70 to 150 when None;
    `coating` the elements that the sample was coated with for the microscope; `instrument` further
    elements whose lines come from the instrument (collimator, filter, holder).
    """

    technique: Technique
    voltage_kv: float
    anode: str = ""
    atmosphere: Atmosphere = "air"
    path_mm: float = 10.0
    detector: Literal["Si", "Ge"] = "Si"
    thickness_mm: float = 0.5
    window_um: float = 8.0
    fwhm_mn_ev: float | None = None
    scatter_angle_deg: float | None = None
    coating: tuple[str, ...] = ()
    instrument: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.technique not in ("xrf", "sem_edx"):
            raise ValueError("The technique of an X-ray spectrum is 'xrf' or 'sem_edx'.")
        if not 1 <= self.voltage_kv <= 100:
            raise ValueError("Give the voltage in kV, between 1 and 100.")
        if self.fwhm_mn_ev is not None and not 60 <= self.fwhm_mn_ev <= 400:
            raise ValueError("Give the resolution at Mn Kα in eV, between 60 and 400.")
        if self.path_mm < 0 or self.thickness_mm <= 0 or self.window_um < 0:
            raise ValueError("Path, crystal and window have thicknesses above zero.")

    @classmethod
    def xrf(cls, voltage_kv: float = 40.0, anode: str = "Rh", **more: Any) -> "XraySettings":
        """The usual for a spectrometer in air."""
        return cls("xrf", voltage_kv, anode, **more)

    @classmethod
    def sem_edx(cls, voltage_kv: float = 20.0, **more: Any) -> "XraySettings":
        """The usual for an electron microscope."""
        usual: dict[str, Any] = {"atmosphere": "vacuum", "window_um": 0.5}
        return cls("sem_edx", voltage_kv, **{**usual, **more})

    @property
    def by_photons(self) -> bool:
        return self.technique == "xrf"

    @property
    def lowest_kev(self) -> float:
        """Where evaluation begins: below lies electronic noise, or nothing passes the air."""
        if self.technique == "sem_edx":
            return 0.2
        return 1.3 if self.atmosphere == "air" else 0.9

    def parameters(self) -> dict[str, Any]:
        """As plain data."""
        return asdict(self)

"""Lengths on site as people type them: the program's own reader and the page's read them alike."""

__all__ = ["LENGTHS_M", "NO_LENGTHS"]

#: Metres by what is typed; a storey is 3 m (common practice, no source), the inch 25.4 mm and the
#: foot 12 of them (international yard and pound, 1959).
LENGTHS_M = {
    "12 m": 12.0,
    "12.5 m": 12.5,
    "12,5 m": 12.5,
    "180 cm": 1.8,
    "1.5km": 1500.0,
    "4 storeys": 12.0,
    "1 storey": 3.0,
    "30 ft": 9.144,
    "2 yd": 1.8288,
    "1 mi": 1609.344,
    "58 1/2 in": 1.4859,
    "58-1/2 in": 1.4859,
    "4 ft 10½ in": 1.4859,
    "4'-10 1/2\"": 1.4859,
    "3/8 in": 0.009525,
    "5 ft 3 in": 1.6002,
    "5ft3in": 1.6002,
    "5'3\"": 1.6002,
    "5’ 3.5”": 1.6129,
    "5 FT 3,5 IN": 1.6129,
    '16"': 0.4064,
    "16''": 0.4064,
    "6'": 1.8288,
    "6′ 2″": 1.8796,
    "1 foot 4 inches": 0.4064,
    ".5 m": 0.5,
    " 7 m ": 7.0,
    "75⅛ in": 1.908175,
}
#: None of them is one.
NO_LENGTHS = ("0 m", "high", "5 ft 13 in", "4 ft 10", "1/0 in", "1,500 m", "10 mm", "3 m 2", "-4 m")

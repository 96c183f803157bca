"""The sources that calc names in short, in full: edition, section, pages and DOI, as far as they are known."""

IN_FULL = {
    "40 CFR": (
        "Code of Federal Regulations, Title 40: part 82, subpart F (82.150 to 82.169), and part 84, 84.64 and "
        "subpart C (84.100 to 84.120), as in force in 2026. Paragraphs as named; letters of 84.106 are from memory."
    ),
    "49 CFR": ("Code of Federal Regulations, Title 49, 173.304: filling of cylinders with liquefied compressed gas."),
    "AHRI Guideline K": (
        "Air-Conditioning, Heating and Refrigeration Institute, Guideline K: containers for recovered non- "
        "flammable fluorocarbon refrigerants; read in its worked example in the trade press, edition not known."
    ),
    "ANSI/ACCA 5 QI": "ANSI/ACCA 5 QI, HVAC Quality Installation Specification; edition not known.",
    "ASHRAE 34": ("ANSI/ASHRAE Standard 34, Designation and Safety Classification of Refrigerants; edition not known."),
    "ASHRAE Handbook of Fundamentals": (
        "2017 ASHRAE Handbook, Fundamentals, chapter 1, Psychrometrics: tables 1 and 2, example 1, equations 3, 20 "
        "to 36 (numbers of equations from memory)."
    ),
    "ASTM B258": ("ASTM B258, Standard Nominal Diameters and Cross-Sectional Areas of AWG Sizes of Solid Round Wires."),
    "ASTM B251": (
        "ASTM B251, General Requirements for Wrought Seamless Copper and Copper-Alloy Tube, table of wall thickness "
        "tolerances; read as a maker of tube quotes it."
    ),
    "ASTM B280": (
        "ASTM B280, Seamless Copper Tube for Air Conditioning and Refrigeration Field Service, table of sizes."
    ),
    "California Title 24": (
        "California Building Energy Efficiency Standards, Reference Residential Appendix RA3.2, text of 2008 and "
        "2013: refrigerant charge verification, with the table of target superheat."
    ),
    "CoolProp": (
        "I. H. Bell, J. Wronski, S. Quoilin, V. Lemort, Pure and Pseudo-pure Fluid Thermophysical Property "
        "Evaluation and the Open-Source Thermophysical Property Library CoolProp, Industrial & Engineering "
        "Chemistry Research 53(6), 2498-2508 (2014), doi:10.1021/ie4033999; release 8.0.0."
    ),
    "IEC 60335-2-40": (
        "IEC 60335-2-40, Household and similar electrical appliances, safety of heat pumps and air conditioners; "
        "edition not known."
    ),
    "IEC 60751": (
        "IEC 60751, Industrial platinum resistance thermometers and platinum temperature sensors, the coefficients "
        "and the table of the ITS-90 editions (1995 and later)."
    ),
    "IEEE 43": (
        "IEEE Std 43, Recommended Practice for Testing Insulation Resistance of Electric Machinery, 2000 and 2013; "
        "read as test guides quote it; its equations for thermosetting insulation from memory."
    ),
    "IPCC": (
        "Intergovernmental Panel on Climate Change, assessment reports AR4 (2007), AR5 (2013), AR6 (2021), working "
        "group I: global warming potentials over 100 years."
    ),
    "ITS-90": (
        "International Temperature Scale of 1990, with NIST Monograph 175 (1993), type K: reference functions and "
        "inverse coefficients."
    ),
    "JCGM 100": (
        "JCGM 100:2008, Evaluation of measurement data, Guide to the expression of uncertainty in measurement (GUM "
        "1995 with minor corrections)."
    ),
    "JCGM 106": (
        "JCGM 106:2012, Evaluation of measurement data, The role of measurement uncertainty in conformity assessment."
    ),
    "Lemmon": (
        "E. W. Lemmon, Pseudo-Pure Fluid Equations of State for the Refrigerant Blends R-410A, R-404A, R-507A, and "
        "R-407C, International Journal of Thermophysics 24(4), 991-1006 (2003) (pages from memory)."
    ),
    "NAMUR NE 43": ("NAMUR recommendation NE 43: the level of the failure signal of transmitters; read in summaries."),
    "NEC": (
        "NFPA 70, National Electrical Code, articles and tables as numbered since 2020; read in public transcriptions."
    ),
    "NEMA MG 1": "NEMA MG 1, Motors and Generators: unbalanced voltage; read as manuals quote it.",
    "NISTIR 7350": (
        "NIST Interagency Report 7350, a residential heat pump in cooling with single faults imposed: appendix D, "
        "table without fault; read as an open data set carries it (title from memory)."
    ),
    "NIST SP 811": (
        "NIST Special Publication 811, 2008 edition, Guide for the Use of the International System of Units, "
        "appendix B: conversion factors."
    ),
    "NIST TN 1848": (
        "NIST Technical Note 1848, installation faults and heat pump performance; its coefficients read as an open "
        "program carries them (title from memory)."
    ),
    "NREL/TP-5500-56354": (
        "D. Cutler, J. Winkler, N. Kruis, C. Christensen, M. Brandemuehl, Improved Modeling of Residential Air "
        "Conditioners and Heat Pumps for Energy Calculations, NREL/TP-5500-56354 (2013)."
    ),
    "Steinhart & Hart": (
        "J. S. Steinhart, S. R. Hart, Calibration curves for thermistors, Deep-Sea Research 15, 497-503 (1968)."
    ),
    "UL 1995": "UL 1995, Heating and Cooling Equipment; edition not known.",
}
"""What stands in short in docstrings and in the catalogue, and what it is."""

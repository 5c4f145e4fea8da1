"""A fitted visit's model in NumPy: what each place is expected to read, as reference/model.md states it.

The machine's curve, nine nodes of the jitter; eddy-current modes and the ground's response are asked of
brineband. Pieces must have sizes, none may have lost metal, and no times of day.
"""
import csv
import json
import subprocess

import numpy as np

KNOTS = np.array([-90, -40, 0, 10, 25, 45, 65, 80, 90.0])
WIDTH = np.diff(KNOTS)
XI = 0.8 * np.arange(-4, 5)
WEIGHT = np.exp(-XI**2 / 2) / np.exp(-XI**2 / 2).sum()


def curve(theta, angle):
    share = np.exp(theta[2:10]) * WIDTH
    value = theta[0] + (theta[1] - theta[0]) * np.concatenate(([0], np.cumsum(share / share.sum())))
    secant = np.diff(value) / WIDTH
    slope = np.concatenate(([secant[0]],
                            3 * (WIDTH[:-1] + WIDTH[1:]) / ((WIDTH[:-1] + 2 * WIDTH[1:]) / secant[:-1]
                                                            + (2 * WIDTH[:-1] + WIDTH[1:]) / secant[1:]),
                            [secant[-1]]))
    i = np.clip(np.searchsorted(KNOTS, angle) - 1, 0, 7)
    t = (angle - KNOTS[i]) / WIDTH[i]
    u = 1 - t
    return ((1 + 2 * t) * u * u * value[i] + t * t * (3 - 2 * t) * value[i + 1]
            + WIDTH[i] * t * u * (u * slope[i] - t * slope[i + 1]))


class Visit:
    def __init__(self, brineband, folder):
        self.brineband, self.folder = brineband, folder
        self.ask("fit", folder)
        with open(f"{folder}/profile.json", encoding="utf-8") as file:
            self.profile = json.load(file)
        self.fitted = {p["name"]: p for p in self.profile["parameters"]}
        self.names = list(self.fitted)
        self.index = {name: i for i, name in enumerate(self.names)}
        machine, beach, noise = (self.profile[part] for part in ("machine", "beach", "noise"))
        self.radius = machine["coil_diameter_cm"] / 200
        self.swing = beach["swing_height_cm"] / 100
        self.omega = 2 * np.pi * machine["frequency_khz"] * 1e3
        self.s0 = np.exp(noise["ln_reading_numbers"]["estimate"])
        self.wander = np.exp(noise["ln_wander_deg"]["estimate"])
        self.jitter = {zone["name"]: np.exp(level["estimate"])
                       for zone, level in zip(self.profile["zones"], noise["ln_jitter"])}
        self.kit = self.rows("kit.csv")
        self.modes = {piece["target"]: self.modes_of(piece) for piece in self.kit}
        self.ground = {}
        self.look_at({self.swing} | {float(row["height_cm"]) / 100 for row in self.rows("sweeps.csv")
                                     if row.get("height_cm")})

    def ask(self, *words):
        return json.loads(subprocess.run([self.brineband, *words, "--json"], check=True,
                                         capture_output=True, text=True).stdout)

    def rows(self, name):
        with open(f"{self.folder}/{name}", encoding="utf-8") as lines:
            return list(csv.DictReader(line for line in lines if not line.startswith("#")))

    def modes_of(self, piece):
        words = ["body", "--shape", piece["shape"], "--diameter", piece["diameter_mm"], "--material",
                 piece["material"], "--frequency", str(self.profile["machine"]["frequency_khz"]),
                 "--thickness", piece["thickness_mm"]]
        if bore := piece.get("bore_mm"):
            words += ["--bore", bore]
        poles = self.ask(*words)["poles"]
        return (np.array([p["strength_m3"] for p in poles]),
                np.array([p["time_constant_us"] * 1e-6 for p in poles]))

    def look_at(self, heights):
        """Strength and angle of the ground of every zone at these heights."""
        machine, beach = self.profile["machine"], self.profile["beach"]
        for zone in self.profile["zones"]:
            for height in heights:
                at = self.ask("sand", "--salinity", str(beach["water_salinity"]), "--temperature",
                              str(beach["water_temperature_c"]), "--porosity",
                              str(beach["sand_porosity"]), "--saturation", str(zone["saturation"]),
                              "--frequency", str(machine["frequency_khz"]), "--coil-diameter",
                              str(machine["coil_diameter_cm"]), "--height",
                              str(100 * height))["ground"]
                self.ground[zone["name"], height] = (at["strength"], at["angle_deg"])

    def alphas(self, theta):
        alpha = {}
        for name, (strength, tau) in self.modes.items():
            x = 1j * self.omega * np.exp(theta[self.index[f"target.{name}.log_time"]]) * tau
            alpha[name] = (np.exp(theta[self.index[f"target.{name}.log_strength"]])
                           * (strength * x / (1 + x)).sum())
        return alpha

    def over_sand(self, theta, alpha, zone, depth, height):
        """Response of piece and sand together at each node, and what the machine leaves of the sand's."""
        strength, angle = self.ground[zone, height]
        at_swing, angle0 = self.ground[zone, self.swing]
        psi = np.radians(theta[self.index[f"zone.{zone}.angle_deg"]] + angle - angle0)
        level = 0.002 * strength * np.exp(theta[self.index["salt.log_level"]]
                                          + theta[self.index[f"zone.{zone}.log_salt"]])
        residual = level + self.jitter[zone] * strength / at_swing * XI
        gap = depth + height
        return (alpha * self.radius**3 / (4 * (self.radius**2 + gap**2) ** 3)
                + residual * (np.sin(psi) + 1j * np.cos(psi))), level

    def angles(self, theta, alpha, place):
        """The response angle at each node of the jitter; one in air, where nothing jitters."""
        zone, target, depth, height = place
        if target == "sand":
            angle = theta[self.index[f"zone.{zone}.angle_deg"]] + self.wander * XI
            return np.clip(angle, -90, 90)
        if zone == "air":
            total = np.array([alpha[target]])
        else:
            total, _ = self.over_sand(theta, alpha[target], zone, depth, height)
        return np.degrees(np.arctan(total.real / total.imag))

    def expected(self, theta, places):
        alpha, out = self.alphas(theta), np.empty(len(places))
        for i, place in enumerate(places):
            number = curve(theta, self.angles(theta, alpha, place))
            out[i] = WEIGHT @ number if len(number) > 1 else number[0]
        return out

"""Encodings, line ends, stray bytes, a last line that is cut short."""

from __future__ import annotations

from tests.traces.making.cases import Case, at, case, charge, iso, load, made, text, volts


@case
def plain_iso() -> Case:
    s = load()
    return made("plain.csv", text("Time,Current (A),Voltage (V)", iso(s)), s, start="2026-05-13T08:30:00")


@case
def latin1() -> Case:
    s = load()
    rows = [f"{at(t)};{i:.2f};24,{k % 4}".replace(".", ",") for k, (t, i) in enumerate(s)]
    return made("latin1.csv", text("Zeit;Strom [A];Temperatur [°C]", rows), s, encoding="latin-1", temperature=24.1)


@case
def bom() -> Case:
    s = load()
    return made("bom.csv", text("Time;Current (A);Voltage (V)", iso(s, sep=";")), s, encoding="utf-8-sig")


@case
def utf16() -> Case:
    s = load()
    return made(
        "utf16.txt", b"\xff\xfe" + text("Time\tCurrent (A)\tVoltage (V)", iso(s, sep="\t"), "\r\n").encode("utf-16-le"), s
    )


@case
def utf16_bare() -> Case:
    s = load()
    return made("utf16_bare.txt", text("Time\tCurrent (A)\tVoltage (V)", iso(s, sep="\t")).encode("utf-16-be"), s)


@case
def gbk() -> Case:
    s = load()
    rows = [f"{at(t)},{i:.2f},24.{k % 4}" for k, (t, i) in enumerate(s)]
    return made("gbk.csv", text("时间,电流(A),温度(℃)", rows), s, encoding="gbk", temperature=24.1)


@case
def nul_bytes() -> Case:
    s = load()
    body = text("Time,Current (A),Voltage (V)", iso(s)).encode()
    return made("nul.csv", b"\0\0" + body[:900] + b"\0" * 7 + body[900:] + b"\0" * 64, s)


@case
def crlf_form_feed() -> Case:
    s = load()
    return made("crlf.csv", "\f" + text("Time,Current (A),Voltage (V)", iso(s), "\r\n") + "\f\r\n", s)


@case
def cr_only() -> Case:
    s = load()
    return made("cr.csv", text("Time,Current (A),Voltage (V)", iso(s), "\r"), s)


@case
def cut_short() -> Case:
    s = load()
    rows = [f"{at(t)},{volts(k)},{i:.2f}" for k, (t, i) in enumerate(s[:200])]
    body = text("Time,Voltage (V),Current (A)", rows)[:-3]
    return made("cut.csv", body, s[:199], ah=charge(s[:199]), doubts=("cut short",))


@case
def cut_within_a_number() -> Case:
    s = load()[:200]
    body = text("Time,Current (mA)", [f"{at(t)},{1000 * i:.0f}" for t, i in s])[:-3]
    return made("cut_number.csv", body, s[:199], ah=charge(s[:199]), doubts=("cut short",))

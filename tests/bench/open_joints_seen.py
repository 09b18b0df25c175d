"""What a person saw in the demo's drawn photos: where the bricks are, and which joints are open.

Places are pixels of the picture. Each wall was looked at by eye; a picture that was drawn anew
since is left out, by its digest.
"""

from dataclasses import dataclass

LEFT, RIGHT = 40, 1240  # of a picture 1280 wide; a tall one is 960 wide


@dataclass(frozen=True)
class Seen:
    """``corners`` are the heights of the upper and lower joint, left and right, ``courses`` between
    them. ``open`` are the middles of open joints, ``weeps`` of weep holes; ``cracked`` walls have a
    crack along their joints, which is a fault of another kind.
    """

    name: str
    digest: str
    corners: tuple[int, int, int, int]
    courses: int
    open: tuple[tuple[int, int], ...] = ()
    weeps: tuple[tuple[int, int], ...] = ()
    cracked: bool = False

    @property
    def places(self) -> list[tuple[int, int]]:
        upper_left, upper_right, lower_left, lower_right = self.corners
        right = 930 if self.name == "kh-1187-tight_crack" else RIGHT
        return [(LEFT, upper_left), (right, upper_right), (right, lower_right), (LEFT, lower_left)]


PHOTOS = [
    Seen(
        "kh-1149-soil_against_brick-fixed",
        "c54dfbc2b83697cd",
        (117, 117, 633, 636),
        7,
        weeps=((679, 450),),
    ),
    Seen(
        "kh-1149-soil_against_brick",
        "4cfd8418300b54af",
        (111, 106, 476, 476),
        5,
        weeps=((685, 437),),
    ),
    Seen(
        "kh-1149-weep_hole_blocked-fixed",
        "41f04fda44944b46",
        (56, 68, 627, 640),
        4,
        weeps=((589, 278),),
    ),
    Seen("kh-1149-weep_hole_blocked", "55e1a649ee55a97b", (44, 32, 631, 628), 4),
    Seen(
        "kh-1158-mortar_drop-fixed", "f4936ab993366cd4", (87, 87, 605, 621), 5, weeps=((589, 353),)
    ),
    Seen("kh-1158-mortar_drop", "1285a61287604b0f", (93, 89, 621, 612), 5, weeps=((619, 353),)),
    Seen("kh-1158-tight_crack-fixed", "6658457a5256f00f", (60, 58, 657, 655), 5),
    Seen("kh-1158-tight_crack", "bb07a0d1764e2cbf", (56, 52, 667, 677), 5, cracked=True),
    Seen("kh-1165-unfilled_joint-fixed", "e32f0fefe245ae98", (46, 52, 560, 575), 5),
    Seen(
        "kh-1165-unfilled_joint",
        "0c5e6517948b1412",
        (48, 52, 558, 560),
        5,
        open=((687, 249), (513, 195), (660, 300)),
    ),
    Seen("kh-1165-wet_brick-fixed", "f75600bf39589907", (91, 69, 657, 651), 7, weeps=((585, 448),)),
    Seen("kh-1165-wet_brick", "53710203063aabf6", (77, 85, 641, 665), 7, weeps=((593, 443),)),
    Seen(
        "kh-1171-dirty_brick-fixed", "0061cac1e690e048", (67, 46, 647, 643), 7, weeps=((633, 437),)
    ),
    Seen("kh-1171-dirty_brick", "b897def5bc6861f7", (125, 117, 635, 639), 6, weeps=((665, 427),)),
    Seen("kh-1171-gap_too_wide", "e210d8bcf6e36f3e", (101, 93, 615, 607), 4),
    Seen(
        "kh-1171-timber_against_wall-fixed",
        "c9448c4e95a7fc9c",
        (105, 113, 627, 633),
        7,
        weeps=((647, 448),),
    ),
    Seen("kh-1187-articulation_unsealed", "ed370d55ba79c5a0", (99, 99, 591, 589), 4),
    Seen("kh-1187-mortar_drop", "dc666a3ef0e176b4", (107, 81, 645, 619), 5, weeps=((631, 357),)),
    Seen("kh-1187-tap_splashes", "282ee7f9a9e1a035", (83, 81, 639, 637), 6, weeps=((601, 409),)),
    Seen("kh-1187-tight_crack", "e2e139a31cbee05d", (70, 70, 1014, 1014), 8, cracked=True),
    Seen(
        "kh-1187-unfilled_joint",
        "c9fd72f871866b72",
        (52, 56, 571, 579),
        5,
        open=((502, 206), (645, 314), (664, 262)),
    ),
    Seen("kh-1187-weep_hole_blocked", "15e5befdec5b4a6e", (163, 153, 599, 589), 3),
    Seen("kh-1204-articulation_unsealed-fixed", "916c2f762c8152bd", (107, 107, 589, 585), 4),
    Seen("kh-1204-articulation_unsealed", "e2da385757bfdee5", (109, 107, 591, 595), 4),
    Seen(
        "kh-1204-mortar_drop-fixed", "e03890363a1834ef", (12, 6, 628, 630), 6, weeps=((601, 373),)
    ),
    Seen("kh-1204-mortar_drop", "bf5836cd292ac850", (107, 101, 620, 621), 5, weeps=((603, 367),)),
    Seen(
        "kh-1204-soil_against_brick-fixed",
        "53af3824717b0f52",
        (69, 34, 625, 617),
        8,
        weeps=((623, 440),),
    ),
    Seen(
        "kh-1204-soil_against_brick", "641462b9fd89347b", (65, 60, 490, 490), 6, weeps=((655, 452),)
    ),
    Seen(
        "kh-1204-weep_hole_blocked-fixed",
        "9e9fe14dec1d347f",
        (16, 16, 591, 591),
        4,
        weeps=((661, 230),),
    ),
    Seen("kh-1204-weep_hole_blocked", "194d16da7e8a6659", (30, 14, 605, 599), 4),
    Seen("kh-1213-mortar_drop", "ad1f16272f356ce5", (131, 105, 661, 633), 5, weeps=((595, 389),)),
    Seen(
        "pl-077-dirty_brick-fixed", "342815391f0b0adf", (73, 69, 653, 653), 7, weeps=((685, 443),)
    ),
    Seen("pl-077-dirty_brick", "66553a73a0bd7bfb", (56, 54, 671, 669), 7, weeps=((671, 452),)),
    Seen("pl-077-gap_too_wide-fixed", "a70ba6c41a12c79c", (93, 87, 601, 597), 4),
    Seen("pl-077-gap_too_wide", "3f37a2909ed9c772", (85, 81, 589, 589), 4),
    Seen("pl-081-articulation_unsealed-fixed", "843df46bdeab1adc", (115, 115, 599, 597), 4),
    Seen("pl-081-articulation_unsealed", "ceaa1a135c3accf8", (125, 93, 601, 597), 4),
    Seen(
        "pl-081-soil_against_brick",
        "5582b4005c7587ef",
        (105, 105, 480, 480),
        5,
        weeps=((651, 431),),
    ),
    Seen("pl-081-tight_crack", "d7f7aaf60c32f14e", (69, 69, 691, 687), 5, cracked=True),
    Seen("pl-085-tap_splashes-fixed", "74196b2c3b84fef0", (36, 30, 625, 623), 6),
    Seen("pl-085-tap_splashes", "e20e62ce2a66a71a", (56, 54, 629, 627), 6),
    Seen("pl-090-gap_too_wide", "53449322bcbc0cea", (97, 73, 613, 589), 4),
]

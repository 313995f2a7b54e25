/* The face of a connector as it is seen: its outline, where each cavity lies, cavity 1 marked,
 * every cavity in the colour of its wire. Places are those of the library's `cavity` rows or of the
 * rows of a D-subminiature (rating/dsub.h); where the library has neither they are set out by
 * number and the sheet says so. Mirroring: places are kept as the pin half shows them from its
 * mating face. The mating face of the socket half is the mirror image of that, and the wire side of
 * either half the mirror image of its own mating face. */
#ifndef DRAW_SHELL_FACE_H
#define DRAW_SHELL_FACE_H

#include "draw/list.h"
#include "model/model.h"

typedef enum FaceHalf { FACE_PINS, FACE_SOCKETS } FaceHalf;
typedef enum FaceSide { FACE_WIRE_SIDE, FACE_MATING_FACE } FaceSide;

typedef enum FaceForm {
    FACE_D,
    FACE_CIRCLE,
    FACE_BLOCK,
    FACE_COAX,
    FACE_STUDS, /* no mating face: seen from above */
    FACE_LEADS  /* no face at all */
} FaceForm;

typedef struct ShellFace {
    FaceForm form;
    uint32_t ways;
    const char **names; /* by cavity */
    double *x_mm;       /* by cavity, from the middle of the pattern; to the right, pin half seen */
    double *y_mm;       /* from its mating face; up */
    double half_width_mm; /* of the pattern of centres */
    double half_height_mm;
    double pitch_mm; /* smallest distance of two centres */
    bool measured;   /* by the library; else set out by number */
    bool sealed;
    double name_mm; /* width of the longest name in the small size */
} ShellFace;

void shell_face_read(Arena *out, DrawFonts *fonts, const Model *model, ShellId shell,
                     ShellFace *face);

/* True when that view is the mirror image of the pin half's mating face. */
bool shell_face_mirrored(FaceHalf half, FaceSide side);

/* Place of a cavity as drawn: mm on the shell from the middle, x to the right, y DOWN. */
DrawPoint shell_face_at(const ShellFace *face, FaceHalf half, FaceSide side, uint32_t cavity);

/* Millimetres on paper for one on the shell so that the view fits `width_mm`: as large as the
 * numbers need and small shells can use, or less when there is no room for that. */
double shell_face_scale(const ShellFace *face, double width_mm);

/* True when at that scale every number fits inside its cavity. */
bool shell_face_readable(const ShellFace *face, double scale);

/* Size of the view on paper, title included. */
double shell_face_width_mm(const ShellFace *face, double scale);
double shell_face_height_mm(const ShellFace *face, double scale);

/* What is in a cavity. */
typedef struct FaceCavity {
    bool used;
    bool shield;        /* bare, no insulation */
    const char *colour; /* of the insulation; "" unknown */
    TableId table;      /* the row it stands for */
    const char *key;
} FaceCavity;

/* Draws one view with its top edge at `top_mm`, centred on `middle_mm`: title in large letters,
 * outline, cavities, the mark at cavity 1. `cavities`: by cavity. */
void shell_face_draw(DrawList *list, const ShellFace *face, FaceHalf half, FaceSide side,
                     double scale, double middle_mm, double top_mm, const FaceCavity *cavities);

/* Words that explain the signs used, for the foot of the sheet. */
const char *shell_face_legend(void);

#endif

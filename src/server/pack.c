/* The file is put together from the page's script and style (web/src/pack.tsx) and one JSON text
 * with everything that is seen. A code is 5 bits a letter: the answers, 60 bits of HMAC-SHA-256
 * (RFC 2104) under the file's secret over the hash of that JSON, the name and the answers, and a
 * letter that catches slips of the pen. */
#include "server/pack.h"

#include <jansson.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "server/offering.h"
#include "server/pages.h"

enum {
    PICTURE_WIDTH_PX = 1400,
    LETTER_BITS = 5,
    MAC_LETTERS = 12,
    ANSWER_BITS = 2,   /* an option */
    CHECK_MODULUS = 31 /* a prime below the number of letters */
};

static const char LETTERS[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"; /* no I, L, O, U */
static const char SEAL[] = "<!--seal ";

/* --- codes ----------------------------------------------------------------------------------- */

/* Lower case, one blank between words, none around. */
static const char *plain_name(Arena *arena, const char *name) {
    Buffer out = {.arena = arena};
    const char *place = name;
    const char *word;
    size_t length;
    buffer_text(&out, "");
    while (text_next_word(&place, &word, &length)) {
        buffer_text(&out, out.length > 0 ? " " : "");
        for (size_t i = 0; i < length; i++) {
            char c = word[i] >= 'A' && word[i] <= 'Z' ? (char)(word[i] + ('a' - 'A')) : word[i];
            buffer_add(&out, &c, 1);
        }
    }
    return out.bytes;
}

/* MAC_LETTERS letters. */
static void put_mac(Buffer *out, const StorePack *pack, const char *name, const char *digits) {
    Buffer said = {.arena = out->arena};
    buffer_format(&said, "marling answer 1\n%s\n%s\n%s\n", pack->content,
                  plain_name(out->arena, name), digits);
    unsigned char mac[crypto_auth_hmacsha256_BYTES];
    crypto_auth_hmacsha256_state state;
    crypto_auth_hmacsha256_init(&state, pack->secret, PACK_SECRET_BYTES);
    crypto_auth_hmacsha256_update(&state, (const unsigned char *)said.bytes, said.length);
    crypto_auth_hmacsha256_final(&state, mac);
    for (unsigned i = 0; i < MAC_LETTERS; i++) {
        unsigned value = 0;
        for (unsigned bit = i * LETTER_BITS; bit < (i + 1) * LETTER_BITS; bit++) {
            value = value << 1 | ((unsigned)mac[bit / 8] >> (7 - bit % 8) & 1U);
        }
        buffer_add(out, &LETTERS[value], 1);
    }
}

static unsigned letter_value(char letter) {
    const char *at = letter == '\0' ? NULL : strchr(LETTERS, letter);
    return at == NULL ? 32U : (unsigned)(at - LETTERS);
}

static char check_letter(const char *letters, size_t count) {
    unsigned sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += letter_value(letters[i]) * (unsigned)(i % (CHECK_MODULUS - 1) + 1);
    }
    return LETTERS[sum % CHECK_MODULUS];
}

/* Letters of the answers of so many options: one bit, then ANSWER_BITS each. */
static size_t answer_letters(size_t options) {
    return (1 + options * ANSWER_BITS + LETTER_BITS - 1) / LETTER_BITS;
}

/* Digits to letters; bits beyond the last are nought. */
static void put_answers(Buffer *out, const char *digits) {
    size_t options = strlen(digits) - 1;
    size_t count = answer_letters(options) * LETTER_BITS;
    unsigned value = 0;
    for (size_t bit = 0; bit < count; bit++) {
        unsigned one = bit == 0 ? (digits[0] == '1' ? 1U : 0U) : 0U;
        if (bit > 0 && bit <= options * ANSWER_BITS) {
            unsigned digit = (unsigned)(digits[1 + (bit - 1) / ANSWER_BITS] - '0');
            one = digit >> ((bit - 1) % ANSWER_BITS == 0 ? 1 : 0) & 1U;
        }
        value = value << 1 | one;
        if (bit % LETTER_BITS == LETTER_BITS - 1) {
            buffer_add(out, &LETTERS[value & 31U], 1);
            value = 0;
        }
    }
}

/* The digits that letters say. */
static const char *read_answers(Arena *arena, const char *letters, size_t options) {
    char *digits = ARENA_ARRAY(arena, char, options + 2); /* zeroed */
    for (size_t bit = 0; bit <= options * ANSWER_BITS; bit++) {
        unsigned value = letter_value(letters[bit / LETTER_BITS]);
        unsigned one = value >> (LETTER_BITS - 1 - bit % LETTER_BITS) & 1U;
        if (bit == 0) {
            digits[0] = one == 1 ? '1' : '0';
        } else if ((bit - 1) % ANSWER_BITS == 0) {
            digits[1 + (bit - 1) / ANSWER_BITS] = (char)('0' + (int)(one << 1));
        } else {
            digits[1 + (bit - 1) / ANSWER_BITS] =
                (char)(digits[1 + (bit - 1) / ANSWER_BITS] + (int)one);
        }
    }
    return digits;
}

static const char *whole_code(Arena *arena, const StorePack *pack, const char *name,
                              const char *digits) {
    Buffer out = {.arena = arena};
    put_answers(&out, digits);
    put_mac(&out, pack, name, digits);
    char check = check_letter(out.bytes, out.length);
    buffer_add(&out, &check, 1);
    return out.bytes;
}

const char *pack_code(Arena *arena, const StorePack *pack, const char *name, const char *digits) {
    const char *letters = whole_code(arena, pack, name, digits);
    Buffer out = {.arena = arena};
    for (size_t i = 0; letters[i] != '\0'; i++) {
        buffer_text(&out, i > 0 && i % 4 == 0 ? "-" : "");
        buffer_add(&out, &letters[i], 1);
    }
    return out.bytes;
}

/* The letters of a code as somebody typed it. */
static const char *plain_code(Arena *arena, const char *code) {
    Buffer out = {.arena = arena};
    buffer_text(&out, "");
    for (const char *at = code; *at != '\0'; at++) {
        char c = *at >= 'a' && *at <= 'z' ? (char)(*at - ('a' - 'A')) : *at;
        c = c == 'O' ? '0' : c == 'I' || c == 'L' ? '1' : c;
        if ((c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z')) {
            buffer_add(&out, &c, 1);
        }
    }
    return out.bytes;
}

static bool fits(Arena *arena, const StorePack *pack, const char *letters, const char *name,
                 PackAnswer *answer) {
    char **options;
    size_t count = text_split(arena, pack->choices, &options);
    size_t head = answer_letters(count);
    size_t length = head + MAC_LETTERS + 1;
    if (count > PACK_OPTIONS_MOST || strlen(letters) != length) {
        return false;
    }
    const char *digits = read_answers(arena, letters, count);
    const char *wanted = whole_code(arena, pack, name, digits);
    if (sodium_memcmp(wanted, letters, length) != 0) {
        return false;
    }
    *answer = (PackAnswer){.pack = pack, .approves = digits[0] == '1', .count = count};
    for (size_t i = 0; i < count; i++) {
        answer->options[i] = options[i];
        answer->chosen[i] = digits[i + 1] == '2' ? "yes" : digits[i + 1] == '1' ? "no" : "";
    }
    return true;
}

const char *pack_read(Arena *arena, const StorePack *packs, size_t count, const char *code,
                      const char *name, PackAnswer *answer) {
    const char *letters = plain_code(arena, code);
    size_t length = strlen(letters);
    bool known = length > MAC_LETTERS + 1;
    for (size_t i = 0; i < length; i++) {
        known = known && letter_value(letters[i]) < 32;
    }
    if (!known) {
        return "this is no whole code: it has letters and digits in groups of four";
    }
    if (check_letter(letters, length - 1) != letters[length - 1]) {
        return "a letter of the code is mistaken: compare it with what was sent";
    }
    if (*plain_name(arena, name) == '\0') {
        return "the name is wanted that the customer typed";
    }
    for (size_t i = 0; i < count; i++) {
        if (fits(arena, &packs[i], letters, name, answer)) {
            return NULL;
        }
    }
    return count == 0 ? "no file was sent for this job"
                      : "no file that was sent for this job gives this code with this name: the "
                        "name is another, or the file was changed on its way";
}

/* --- the file -------------------------------------------------------------------------------- */

static void put_base64(Buffer *out, const void *bytes, size_t length) {
    size_t room = sodium_base64_ENCODED_LEN(length, sodium_base64_VARIANT_ORIGINAL);
    char *text = arena_take(out->arena, room, 1);
    sodium_bin2base64(text, room, bytes, length, sodium_base64_VARIANT_ORIGINAL);
    buffer_text(out, text);
}

static const char *hex_of(Arena *arena, const unsigned char *bytes, size_t length) {
    char *hex = arena_take(arena, length * 2 + 1, 1);
    sodium_bin2hex(hex, length * 2 + 1, bytes, length);
    return hex;
}

/* 'sha256-...', by which a policy lets exactly this text in (CSP Level 3). */
static void put_source(Buffer *out, const Page *page) {
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, page->bytes, page->length);
    buffer_text(out, "'sha256-");
    put_base64(out, digest, sizeof digest);
    buffer_text(out, "'");
}

/* JSON that can stand in a script element: no `<`. */
static const char *safe_json(Arena *arena, const json_t *object, size_t *length) {
    char *text = json_dumps(object, JSON_COMPACT | JSON_ENSURE_ASCII);
    CHECK(text != NULL);
    Buffer out = {.arena = arena};
    for (const char *at = text; *at != '\0';) {
        size_t run = strcspn(at, "<");
        buffer_add(&out, at, run);
        at += run;
        if (*at == '<') {
            buffer_text(&out, "\\u003c");
            at++;
        }
    }
    free(text);
    *length = out.length;
    return out.bytes;
}

/* Options that can still be chosen, by key, blanks between. */
static const char *open_choices(Arena *arena, const Proof *proof) {
    size_t count;
    size_t listed = 0;
    const OfferOption *offers = offer_options(arena, proof, &count);
    Buffer out = {.arena = arena};
    buffer_text(&out, "");
    for (size_t i = 0; i < count && listed < PACK_OPTIONS_MOST; i++) {
        if (offers[i].passed == NULL && strpbrk(offers[i].option->option, " \t") == NULL) {
            buffer_format(&out, "%s%s", listed++ > 0 ? " " : "", offers[i].option->option);
        }
    }
    return out.bytes;
}

static void put_html(Buffer *out, const char *title, const char *content, size_t length) {
    const Page *script = page_find("/pack.js");
    const Page *style = page_find("/pack.css");
    CHECK(script != NULL && style != NULL);
    buffer_text(out, "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                     "img-src data:; base-uri 'none'; form-action 'none'; style-src ");
    put_source(out, style);
    buffer_text(out, "; script-src ");
    put_source(out, script);
    buffer_text(out, "\">\n<meta name=\"viewport\" content=\"width=device-width, "
                     "initial-scale=1\">\n<title>");
    for (const char *at = title; *at != '\0'; at++) {
        if (*at == '<' || *at == '&') {
            buffer_text(out, *at == '<' ? "&lt;" : "&amp;");
        } else {
            buffer_add(out, at, 1);
        }
    }
    buffer_text(out, "</title>\n<style>");
    buffer_add(out, (const char *)style->bytes, style->length);
    buffer_text(out, "</style>\n</head>\n<body>\n<main id=\"pack\">\n<noscript>This page needs "
                     "scripts: open the file in a browser. It asks nothing of the "
                     "network.</noscript>\n</main>\n<script type=\"application/json\" "
                     "id=\"content\">");
    buffer_add(out, content, length);
    buffer_text(out, "</script>\n<script>");
    buffer_add(out, (const char *)script->bytes, script->length);
    buffer_text(out, "</script>\n</body>\n</html>\n");
}

/* Over every byte before it. */
static void put_seal(Buffer *out, const StoreSigner *signer) {
    unsigned char signature[crypto_sign_BYTES];
    crypto_sign_detached(signature, NULL, (const unsigned char *)out->bytes, out->length,
                         signer->secret_key);
    buffer_format(out, "%s%s %s-->\n", SEAL,
                  hex_of(out->arena, signer->public_key, SIGNER_PUBLIC_BYTES),
                  hex_of(out->arena, signature, sizeof signature));
}

static json_t *content_of(Arena *arena, const Proof *proof, const StorePack *pack,
                          const StoreSigner *signer, const Buffer *picture) {
    json_t *offer = offering_json(arena, proof, NULL);
    Buffer image = {.arena = arena};
    buffer_text(&image, "data:image/png;base64,");
    put_base64(&image, picture->bytes, picture->length);
    return json_pack("{s:o, s:s, s:I, s:s, s:s, s:s, s:s, s:I, s:s}", "offer", offer, "picture",
                     image.bytes, "pack", (json_int_t)pack->pack, "secret",
                     hex_of(arena, pack->secret, PACK_SECRET_BYTES), "choices", pack->choices,
                     "what", pack->what, "made", pack->at, "ends_s", (json_int_t)pack->ends_s,
                     "key", hex_of(arena, signer->public_key, SIGNER_PUBLIC_BYTES));
}

Status pack_write(Buffer *out, Store *store, StoreJob job, const Proof *proof, const StoreBy *by,
                  int64_t ends_s, const char **problem) {
    Arena *arena = out->arena;
    StorePack pack = {
        .job = job, .person = by->person, .at = by->at, .what = by->what, .ends_s = ends_s};
    StoreSigner signer;
    Buffer picture = {.arena = arena};
    char seen[REVISION_HEX];
    const char *text;
    Status status = status_ok();
    *problem = NULL;
    if (!offer_seen(arena, proof, &text, seen) ||
        !offer_picture(arena, proof, PICTURE_WIDTH_PX, &picture, &status)) {
        *problem = "there is no panel to be seen in this job yet";
        return status;
    }
    if (!status.failed) {
        status = store_signer(store, &signer);
    }
    if (!status.failed) {
        status = store_keep_text(store, text, strlen(text), seen);
    }
    if (!status.failed) {
        pack.seen = seen;
        pack.choices = open_choices(arena, proof);
        randombytes_buf(pack.secret, sizeof pack.secret);
        status = store_note_pack(store, &pack);
    }
    if (status.failed) {
        return status;
    }
    json_t *object = content_of(arena, proof, &pack, &signer, &picture);
    size_t length;
    const char *content = safe_json(arena, object, &length);
    json_decref(object);
    char hash[REVISION_HEX];
    revision_hash_bytes(content, length, hash);
    put_html(out, proof->set.job.rows[0].title, content, length);
    put_seal(out, &signer);
    sodium_memzero(signer.secret_key, sizeof signer.secret_key);
    return store_seal_pack(store, pack.pack, hash);
}

/* --- checking -------------------------------------------------------------------------------- */

const char *pack_fault(const unsigned char public_key[SIGNER_PUBLIC_BYTES], const char *bytes,
                       size_t length) {
    enum {
        HEX_KEY = SIGNER_PUBLIC_BYTES * 2,
        HEX_SIGNATURE = crypto_sign_BYTES * 2,
        SEAL_LENGTH = sizeof SEAL - 1 + HEX_KEY + 1 + HEX_SIGNATURE + 4
    };
    unsigned char key[SIGNER_PUBLIC_BYTES];
    unsigned char signature[crypto_sign_BYTES];
    size_t key_length;
    size_t signature_length;
    CHECK(sodium_init() >= 0);
    if (length < SEAL_LENGTH) {
        return "this file carries no seal";
    }
    size_t signed_length = length - SEAL_LENGTH;
    const char *at = bytes + signed_length;
    const char *hex = at + sizeof SEAL - 1;
    if (strncmp(at, SEAL, sizeof SEAL - 1) != 0 || hex[HEX_KEY] != ' ' ||
        strncmp(hex + HEX_KEY + 1 + HEX_SIGNATURE, "-->\n", 4) != 0 ||
        sodium_hex2bin(key, sizeof key, hex, HEX_KEY, NULL, &key_length, NULL) != 0 ||
        sodium_hex2bin(signature, sizeof signature, hex + HEX_KEY + 1, HEX_SIGNATURE, NULL,
                       &signature_length, NULL) != 0 ||
        key_length != sizeof key || signature_length != sizeof signature) {
        return "this file does not end with a seal: something was added, or its end is gone";
    }
    if (sodium_memcmp(key, public_key, sizeof key) != 0) {
        return "this file is sealed by another shop's key";
    }
    if (crypto_sign_verify_detached(signature, (const unsigned char *)bytes, signed_length,
                                    public_key) != 0) {
        return "this file is not as the shop wrote it: its seal does not fit";
    }
    return NULL;
}

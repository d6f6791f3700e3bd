/* SPDX-License-Identifier: GPL-3.0-or-later
 * YAML text to tree: the one place that calls libyaml. Events are turned into nodes one by one, every limit
 * is checked before a node is added, and libyaml's complaints are put into the words of the person who typed
 * the file. */
#include "base/text.h"
#include "model/node.h"

#include <string.h>
#include <unistr.h>
#include <yaml.h>

/* A block that is still open; its children lie on the stack of nodes from `first` on. */
typedef struct frame {
    efi_node node;
    size_t first;
} frame;

typedef struct reader {
    efi_tree *tree;
    efi_source *source;
    ef_diags *diags;
    efi_node *stack; /* shape [stack_count] */
    size_t stack_count;
    size_t stack_room;
    frame frames[EFI_MOST_DEPTH];
    int depth;
    size_t nodes;
    /* the last place turned from line and column into a byte offset: places come in order, so this stays
     * linear */
    int walked_line;
    size_t walked_column;
    size_t walked_byte;
    bool over;   /* nothing more is read */
    bool failed; /* no memory */
} reader;

static void report(reader *r, efi_diag_code code, const efi_node *at, const char *message, const char *likely)
{
    const ef_diag draft = {.place = efi_tree_place(r->tree, at),
                           .message = message,
                           .likely = likely,
                           .excerpt = efi_tree_excerpt(r->tree, at)};
    efi_diags_add(r->diags, code, &draft);
}

static bool index_lines(efi_source *source, efi_arena *arena)
{
    int lines = 1;
    for (size_t i = 0; i < source->length; i++)
        lines += source->bytes[i] == '\n';
    source->line_start = efi_arena_get(arena, (size_t)lines, sizeof *source->line_start);
    if (!source->line_start)
        return false;
    source->lines = lines;
    int line = 1;
    for (size_t i = 0; i < source->length; i++)
        if (source->bytes[i] == '\n')
            source->line_start[line++] = (uint32_t)(i + 1);
    return true;
}

/* The node-like place of byte `offset`. */
static efi_node place_of_byte(const reader *r, size_t offset)
{
    int low = 0;
    int high = r->source->lines - 1;
    while (low < high) {
        const int middle = (low + high + 1) / 2;
        if (r->source->line_start[middle] <= offset)
            low = middle;
        else
            high = middle - 1;
    }
    const size_t start = r->source->line_start[low];
    efi_node at = {.kind = EFI_NODE_TEXT, .line = (uint32_t)low + 1};
    at.column = (uint32_t)efi_utf8_count(r->source->bytes + start, offset - start) + 1;
    at.end_column = at.column + 1;
    return at;
}

/* Offset of the first byte that no text file has, or length. */
static size_t first_bad_byte(const efi_source *source)
{
    for (size_t i = 0; i < source->length; i++) {
        const unsigned char c = (unsigned char)source->bytes[i];
        if ((c < 0x20 && c != '\t' && c != '\n' && c != '\r') || c == 0x7f)
            return i;
    }
    return source->length;
}

/* Refuses what is not text at all. */
static bool is_text(reader *r)
{
    const efi_source *source = r->source;
    size_t offset = first_bad_byte(source);
    const uint8_t *bytes = (const uint8_t *)source->bytes;
    const uint8_t *broken = source->length ? u8_check(bytes, source->length) : NULL;
    if (broken && (size_t)(broken - bytes) < offset)
        offset = (size_t)(broken - bytes);
    if (offset == source->length)
        return true;
    const efi_node at = place_of_byte(r, offset);
    ef_diag draft = {.place = efi_tree_place(r->tree, &at), .allowed = "UTF-8 text"};
    draft.found = efi_diags_textf(r->diags, "byte 0x%02X", (unsigned)(unsigned char)source->bytes[offset]);
    draft.message = efi_diags_textf(r->diags, "byte 0x%02X is not UTF-8 text",
                                    (unsigned)(unsigned char)source->bytes[offset]);
    draft.likely = (unsigned char)source->bytes[offset] >= 0x80 ? "save the file with the encoding UTF-8"
                                                                : "take the control character out";
    efi_diags_add(r->diags, EFI_DIAG_NOT_TEXT, &draft);
    return false;
}

/* Byte offset of a place; linear over a whole file because places come in order. */
static size_t byte_of(reader *r, int line, size_t column)
{
    if (line != r->walked_line || column < r->walked_column) {
        r->walked_line = line;
        r->walked_column = 0;
        r->walked_byte = line < r->source->lines ? r->source->line_start[line] : r->source->length;
    }
    while (r->walked_column < column && r->walked_byte < r->source->length) {
        r->walked_byte++;
        while (r->walked_byte < r->source->length &&
               ((unsigned char)r->source->bytes[r->walked_byte] & 0xC0u) == 0x80u)
            r->walked_byte++;
        r->walked_column++;
    }
    return r->walked_byte;
}

static efi_node node_at(efi_node_kind kind, const yaml_mark_t *start, const yaml_mark_t *end)
{
    efi_node node = {.kind = (uint8_t)kind};
    node.line = (uint32_t)start->line + 1;
    node.column = (uint32_t)start->column + 1;
    node.end_column = end->line == start->line ? (uint32_t)end->column + 1 : node.column + 1;
    if (kind != EFI_NODE_TEXT)
        node.end_column = node.column + 1;
    return node;
}

static void push(reader *r, efi_node node)
{
    if (++r->nodes > EFI_MOST_NODES) {
        report(r, EFI_DIAG_TOO_LARGE, &node, "the file holds more keys and values than the reader accepts",
               NULL);
        r->over = true;
        return;
    }
    if (efi_grow(&r->stack, r->stack_count, &r->stack_room, sizeof *r->stack) != 0) {
        r->failed = true;
        return;
    }
    r->stack[r->stack_count++] = node;
}

/* Is the next child of the innermost open block a key? */
static bool key_is_next(const reader *r)
{
    if (r->depth == 0)
        return false;
    const frame *open = &r->frames[r->depth - 1];
    return open->node.kind == EFI_NODE_MAP && (r->stack_count - open->first) % 2 == 0;
}

static void refuse_anchor(reader *r, const efi_node *at, const yaml_char_t *anchor)
{
    if (anchor)
        report(r, EFI_DIAG_YAML_REFUSED, at,
               efi_diags_textf(r->diags, "\"&%.40s\" names a value for reuse, which scenarios do not do",
                               (const char *)anchor),
               "write the value out in each place; quote a text that begins with &");
}

static void refuse_tag(reader *r, const efi_node *at, const yaml_char_t *tag)
{
    if (tag)
        report(r, EFI_DIAG_YAML_REFUSED, at,
               efi_diags_textf(r->diags, "\"%.40s\" is a YAML tag, which scenarios do not use",
                               (const char *)tag),
               "leave the tag out; quote a text that begins with !");
}

static void open_block(reader *r, efi_node node)
{
    if (key_is_next(r)) {
        report(r, EFI_DIAG_YAML_REFUSED, &node, "a key must be plain text, not a list or a block", NULL);
        r->over = true;
        return;
    }
    if (r->depth == EFI_MOST_DEPTH) {
        report(r, EFI_DIAG_TOO_LARGE, &node,
               efi_diags_textf(r->diags, "blocks stand more than %d deep in one another", EFI_MOST_DEPTH),
               NULL);
        r->over = true;
        return;
    }
    r->frames[r->depth].node = node;
    r->frames[r->depth].first = r->stack_count;
    r->depth++;
}

static void close_block(reader *r)
{
    frame *open = &r->frames[--r->depth];
    size_t count = r->stack_count - open->first;
    if (open->node.kind == EFI_NODE_MAP && count % 2 == 1) {
        /* a file cut short between key and value */
        count--;
    }
    efi_node *children = efi_arena_get(r->tree->arena, count, sizeof *children);
    if (!children) {
        r->failed = true;
        return;
    }
    if (count)
        memcpy(children, r->stack + open->first, count * sizeof *children);
    r->stack_count = open->first;
    efi_node node = open->node;
    node.is.children = children;
    node.length = (uint32_t)(node.kind == EFI_NODE_MAP ? count / 2 : count);
    push(r, node);
}

static void add_text(reader *r, const yaml_event_t *event)
{
    efi_node node = node_at(EFI_NODE_TEXT, &event->start_mark, &event->end_mark);
    const size_t length = event->data.scalar.length;
    node.quoted = event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
    refuse_anchor(r, &node, event->data.scalar.anchor);
    refuse_tag(r, &node, event->data.scalar.tag);
    if (length > EFI_MOST_TEXT_BYTES) {
        report(r, EFI_DIAG_TOO_LARGE, &node,
               efi_diags_textf(r->diags, "a text of %zu bytes; the reader accepts %d", length,
                               (int)EFI_MOST_TEXT_BYTES),
               NULL);
        r->over = true;
        return;
    }
    const char *text = (const char *)event->data.scalar.value;
    if (memchr(text, '\0', length)) {
        report(r, EFI_DIAG_NOT_TEXT, &node, "a text with a NUL character in it", "take \"\\0\" out");
        r->over = true;
        return;
    }
    const size_t start = byte_of(r, (int)event->start_mark.line, event->start_mark.column);
    if (start + length <= r->source->length && memcmp(r->source->bytes + start, text, length) == 0)
        node.is.text = r->source->bytes + start;
    else
        node.is.text = efi_arena_text(r->tree->arena, text, length);
    if (!node.is.text)
        r->failed = true;
    node.length = (uint32_t)length;
    push(r, node);
}

static void refuse_alias(reader *r, const yaml_event_t *event)
{
    efi_node node = node_at(EFI_NODE_TEXT, &event->start_mark, &event->end_mark);
    node.is.text = "";
    node.quoted = 1;
    report(r, EFI_DIAG_YAML_REFUSED, &node,
           efi_diags_textf(r->diags, "\"*%.40s\" repeats a named value, which scenarios do not do",
                           (const char *)event->data.alias.anchor),
           "write the value out; quote a text that begins with *");
    push(r, node);
}

static void take_event(reader *r, const yaml_event_t *event, int *documents)
{
    efi_node node = node_at(EFI_NODE_TEXT, &event->start_mark, &event->end_mark);
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (++*documents > 1) {
            report(r, EFI_DIAG_YAML_REFUSED, &node,
                   "a second document begins here; a scenario is one document", "take the line \"---\" out");
            r->over = true;
        }
        break;
    case YAML_SCALAR_EVENT:
        add_text(r, event);
        break;
    case YAML_ALIAS_EVENT:
        refuse_alias(r, event);
        break;
    case YAML_SEQUENCE_START_EVENT:
        node.kind = EFI_NODE_LIST;
        refuse_anchor(r, &node, event->data.sequence_start.anchor);
        refuse_tag(r, &node, event->data.sequence_start.tag);
        open_block(r, node);
        break;
    case YAML_MAPPING_START_EVENT:
        node.kind = EFI_NODE_MAP;
        refuse_anchor(r, &node, event->data.mapping_start.anchor);
        refuse_tag(r, &node, event->data.mapping_start.tag);
        open_block(r, node);
        break;
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
        close_block(r);
        break;
    case YAML_STREAM_END_EVENT:
        r->over = true;
        break;
    case YAML_NO_EVENT:
    case YAML_STREAM_START_EVENT:
    case YAML_DOCUMENT_END_EVENT:
        break;
    }
}

/* What libyaml says, what the file has, and the likely fix. Source: libyaml 0.2.5, by trial on broken files.
 */
static const struct {
    const char *problem;
    const char *message;
    const char *likely;
} translations[] = {
    {"mapping values are not allowed in this context", "a colon that cannot begin a value here",
     "a blank after the colon of this line or the line before; quotes around a text that holds \": \""},
    {"did not find expected key", "the indentation fits no open block, or the colon of a key is missing",
     "line the key up with the others of its block"},
    {"did not find expected ',' or ']'", "a list that is not closed", "a closing ]"},
    {"did not find expected ',' or '}'", "a block in braces that is not closed", "a closing }"},
    {"did not find expected '-' indicator", "a list entry without its \"- \"",
     "line the entries of the list up"},
    {"could not find expected ':'", "a key without its colon", "a colon and a blank after the key"},
    {"found unexpected end of stream", "a quote that is not closed", "a closing quote"},
    {"found unexpected document indicator", "a quote that is not closed", "a closing quote"},
    {"block sequence entries are not allowed in this context", "a \"- \" that cannot begin a list here",
     "begin the list on a line of its own"},
    {"found unknown escape character", "a backslash in double quotes that means nothing",
     "single quotes, or a doubled backslash"},
};

/* Is the byte at a mark a tab? */
static bool tab_at(reader *r, const yaml_mark_t *mark)
{
    const size_t offset = byte_of(r, (int)mark->line, mark->column);
    return offset < r->source->length && r->source->bytes[offset] == '\t';
}

static void report_syntax(reader *r, const yaml_parser_t *parser)
{
    if (parser->error == YAML_MEMORY_ERROR) {
        r->failed = true;
        return;
    }
    if (parser->error == YAML_READER_ERROR) {
        const efi_node at = place_of_byte(r, parser->problem_offset);
        report(r, EFI_DIAG_NOT_TEXT, &at, "a character that text files do not hold",
               "take the character out");
        return;
    }
    const efi_node at = node_at(EFI_NODE_TEXT, &parser->problem_mark, &parser->problem_mark);
    ef_diag draft = {.place = efi_tree_place(r->tree, &at), .excerpt = efi_tree_excerpt(r->tree, &at)};
    draft.message = efi_diags_textf(r->diags, "%s", parser->problem ? parser->problem : "unreadable");
    for (size_t i = 0; parser->problem && i < EF_COUNT(translations); i++) {
        if (strcmp(parser->problem, translations[i].problem) == 0) {
            draft.message = translations[i].message;
            draft.likely = translations[i].likely;
        }
    }
    if (tab_at(r, &parser->problem_mark)) {
        draft.message = "a tab in the indentation";
        draft.likely = "blanks instead of the tab";
    } else if (parser->problem && strstr(parser->problem, "cannot start any token")) {
        draft.message = "a character that cannot begin a value";
        draft.likely = "quotes around the value";
    }
    if (parser->context && (parser->context_mark.line != parser->problem_mark.line ||
                            parser->context_mark.column != parser->problem_mark.column)) {
        const efi_node from = node_at(EFI_NODE_TEXT, &parser->context_mark, &parser->context_mark);
        draft.second = efi_tree_place(r->tree, &from);
        draft.second_words = "what it belongs to begins here";
    }
    efi_diags_add(r->diags, EFI_DIAG_YAML_SYNTAX, &draft);
}

static void read_events(reader *r)
{
    yaml_parser_t parser;
    if (!yaml_parser_initialize(&parser)) {
        r->failed = true;
        return;
    }
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)r->source->bytes, r->source->length);
    int documents = 0;
    while (!r->over && !r->failed) {
        yaml_event_t event;
        if (!yaml_parser_parse(&parser, &event)) {
            report_syntax(r, &parser);
            r->tree->cut_short = true;
            break;
        }
        take_event(r, &event, &documents);
        yaml_event_delete(&event);
        if (r->over && (r->depth > 0 || documents > 1))
            r->tree->cut_short = true;
    }
    yaml_parser_delete(&parser);
}

static void close_all(reader *r)
{
    while (r->depth > 0 && !r->failed)
        close_block(r);
    if (r->failed || r->stack_count == 0)
        return;
    efi_node *root = efi_arena_get(r->tree->arena, 1, sizeof *root);
    if (!root) {
        r->failed = true;
        return;
    }
    *root = r->stack[0];
    r->tree->root = root;
}

ef_status efi_tree_read(efi_tree *tree, efi_arena *arena, const char *name, const char *bytes, size_t length,
                        ef_diags *diags)
{
    memset(tree, 0, sizeof *tree);
    if (length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
        bytes += 3;
        length -= 3;
    }
    reader r = {.tree = tree, .diags = diags, .walked_line = -1};
    tree->arena = arena;
    tree->sources = efi_arena_get(arena, 1, sizeof *tree->sources);
    if (!tree->sources)
        return EF_MEMORY;
    tree->source_count = 1;
    r.source = tree->sources;
    *r.source = (efi_source){.name = name, .bytes = bytes, .length = length};
    if (length > EFI_MOST_BYTES) {
        const ef_diag draft = {.place = {.file = name}, .message = "the file is larger than 64 MiB"};
        efi_diags_add(diags, EFI_DIAG_TOO_LARGE, &draft);
        return EF_OK;
    }
    if (!index_lines(r.source, arena))
        return EF_MEMORY;
    if (is_text(&r)) {
        read_events(&r);
        close_all(&r);
    }
    efi_free(r.stack);
    return r.failed ? EF_MEMORY : EF_OK;
}
